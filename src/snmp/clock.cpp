#include "snmp/clock.h"

#include <algorithm>
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

}  // namespace

Clock::Clock(std::string engine_id) : engine_id_(std::move(engine_id)) {
  hide();
}

Clock::Clock(std::string engine_id, std::uint32_t boots, std::uint32_t time)
    : engine_id_(std::move(engine_id)), boots_(boots), time_(time), stamped_(snmpv3_local_snmpEngineTime()) {}

std::uint32_t Clock::time() const {
  const std::int64_t passed = static_cast<std::int64_t>(snmpv3_local_snmpEngineTime()) - stamped_;
  return time_ + static_cast<std::uint32_t>(std::max<std::int64_t>(passed, 0));
}

void Clock::show() const {
  set_enginetime(octets(engine_id_), size(engine_id_), boots_, time_, FALSE);
  const Enginetime entry = search_enginetime_list(octets(engine_id_), size(engine_id_));
  if (entry == nullptr) return;
  entry->lastReceivedEngineTime = stamped_;
  entry->authenticatedFlag = authenticated_;
}

void Clock::hide() {
  const Enginetime entry = search_enginetime_list(octets(engine_id_), size(engine_id_));
  if (entry == nullptr) return;
  boots_ = entry->engineBoot;
  time_ = entry->engineTime;
  stamped_ = entry->lastReceivedEngineTime;
  authenticated_ = entry->authenticatedFlag;
  forget_engine(engine_id_);
}

// free_enginetime() of net-snmp 5.9.3 frees every engine whose id falls into the same bucket.
void forget_engine(const std::string& engine_id) {
  std::string id = engine_id;
  free_enginetime(reinterpret_cast<u_char*>(id.data()), id.size());
}

}  // namespace vergeset::snmp
