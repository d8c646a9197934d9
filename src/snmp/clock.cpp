#include "snmp/clock.h"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <cstring>
#include <utility>

#include "snmp/library.h"

namespace vergeset::snmp {

namespace {

const u_char* octets(const std::string& id) {
  return reinterpret_cast<const u_char*>(id.data());
}
u_int size(const std::string& id) {
  return static_cast<u_int>(id.size());
}

int bucket_of(const std::string& id) {
  return hash_engineID(octets(id), size(id));
}

/// For each bucket of the library's table an entry that stays there and stands for one clock after the
/// other. Making and freeing an entry at each call would hash the engine id (by MD5) six times.
std::array<Enginetime, ETIMELIST_SIZE> lent{};

Enginetime* place_in_table(int bucket) {
  return bucket >= 0 && bucket < ETIMELIST_SIZE ? &lent[static_cast<std::size_t>(bucket)] : nullptr;
}

/// The bucket's entry, with this engine id; nothing where there is no memory for one.
Enginetime lend(const std::string& id, int bucket) {
  Enginetime* const place = place_in_table(bucket);
  if (place == nullptr || id.empty() || id.size() > SNMP_MAX_ENG_SIZE) return nullptr;
  if (*place == nullptr) {
    auto* const room = static_cast<u_char*>(std::calloc(1, SNMP_MAX_ENG_SIZE));
    set_enginetime(octets(id), size(id), 0, 0, FALSE);
    const Enginetime made = search_enginetime_list(octets(id), size(id));
    if (made == nullptr || room == nullptr) {
      std::free(room);
      return nullptr;
    }
    std::free(std::exchange(made->engineID, room));
    *place = made;
  }
  std::memcpy((*place)->engineID, id.data(), id.size());
  (*place)->engineID_len = size(id);
  return *place;
}

}  // namespace

Clock::Clock(std::string engine_id) : engine_id_(std::move(engine_id)), bucket_(bucket_of(engine_id_)) {
  const Enginetime entry = search_enginetime_list(octets(engine_id_), size(engine_id_));
  if (entry == nullptr) return;
  take(*entry);
  forget_engine(engine_id_);
}

Clock::Clock(std::string engine_id, std::uint32_t boots, std::uint32_t time)
    : engine_id_(std::move(engine_id)),
      bucket_(bucket_of(engine_id_)),
      boots_(boots),
      time_(time),
      stamped_(snmpv3_local_snmpEngineTime()) {}

void Clock::take(const enginetime_struct& entry) {
  boots_ = entry.engineBoot;
  time_ = entry.engineTime;
  stamped_ = entry.lastReceivedEngineTime;
  authenticated_ = entry.authenticatedFlag;
}

std::uint32_t Clock::time() const {
  const std::int64_t passed = static_cast<std::int64_t>(snmpv3_local_snmpEngineTime()) - stamped_;
  return time_ + static_cast<std::uint32_t>(std::max<std::int64_t>(passed, 0));
}

void Clock::show() const {
  const Enginetime entry = lend(engine_id_, bucket_);
  if (entry == nullptr) return;
  entry->engineBoot = boots_;
  entry->engineTime = time_;
  entry->lastReceivedEngineTime = stamped_;
  entry->authenticatedFlag = authenticated_;
}

void Clock::hide() {
  const Enginetime* const place = place_in_table(bucket_);
  if (place == nullptr || *place == nullptr) return;  // thrown out with another of its bucket
  take(**place);
  (*place)->engineID_len = 0;
}

// free_enginetime() of net-snmp 5.9.3 frees every engine whose id falls into the same bucket.
void forget_engine(const std::string& engine_id) {
  std::string id = engine_id;
  Enginetime* const place = place_in_table(bucket_of(engine_id));
  if (place != nullptr) *place = nullptr;
  free_enginetime(reinterpret_cast<u_char*>(id.data()), id.size());
}

}  // namespace vergeset::snmp
