#include "snmp/clock.h"

#include <array>
#include <map>
#include <utility>

#include "snmp/library.h"

namespace vergeset::snmp {

struct Clock::Engine {
  std::size_t clocks = 0;
  Clock* shown = nullptr;
};

namespace {

using Bucket = std::map<std::string, Clock::Engine>;

const u_char* octets(const std::string& id) {
  return reinterpret_cast<const u_char*>(id.data());
}
u_int size(const std::string& id) {
  return static_cast<u_int>(id.size());
}

/// The engines that clocks are held of, in buckets as the library has them.
Bucket& bucket_of(const std::string& id) {
  static std::array<Bucket, ETIMELIST_SIZE> buckets;
  const int bucket = hash_engineID(octets(id), size(id));
  return buckets.at(bucket < 0 ? 0 : static_cast<std::size_t>(bucket));
}

Clock::State read(const std::string& id) {
  const Enginetime entry = search_enginetime_list(octets(id), size(id));
  if (entry == nullptr) return {};
  return {entry->engineBoot, entry->engineTime, entry->lastReceivedEngineTime, entry->authenticatedFlag};
}

void write(const std::string& id, const Clock::State& state) {
  if (search_enginetime_list(octets(id), size(id)) == nullptr) set_enginetime(octets(id), size(id), 0, 0, 0);
  const Enginetime entry = search_enginetime_list(octets(id), size(id));
  if (entry == nullptr) return;
  entry->engineBoot = state.boots;
  entry->engineTime = state.time;
  entry->lastReceivedEngineTime = state.stamped;
  entry->authenticatedFlag = state.authenticated;
}

/// free_enginetime() of net-snmp 5.9.3 frees every engine whose id falls into the same bucket, so
/// the others are put back behind it.
void take_out(const std::string& id) {
  std::map<std::string, Clock::State> others;
  for (const auto& [other, engine] : bucket_of(id)) {
    if (other != id) others.emplace(other, read(other));
  }
  std::string copy = id;
  free_enginetime(reinterpret_cast<u_char*>(copy.data()), copy.size());
  for (const auto& [other, state] : others) write(other, state);
}

}  // namespace

Clock::Clock(std::string engine_id)
    : engine_id_(std::move(engine_id)),
      first_(read(engine_id_)),
      state_(first_),
      engine_(&bucket_of(engine_id_)[engine_id_]) {
  ++engine_->clocks;
}

Clock::~Clock() {
  if (engine_->shown == this) engine_->shown = nullptr;
  if (--engine_->clocks > 0) return;
  bucket_of(engine_id_).erase(engine_id_);
  take_out(engine_id_);
}

void Clock::show() {
  if (engine_->shown == this) return;
  if (engine_->shown != nullptr) engine_->shown->state_ = read(engine_id_);
  write(engine_id_, state_);
  engine_->shown = this;
}

void forget_engine(const std::string& engine_id) {
  if (!engine_id.empty() && !bucket_of(engine_id).contains(engine_id)) take_out(engine_id);
}

}  // namespace vergeset::snmp
