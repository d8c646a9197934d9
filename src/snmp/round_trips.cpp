#include "snmp/round_trips.h"

#include <cmath>

namespace vergeset::snmp {

void RoundTrips::learn(std::chrono::microseconds round_trip) {
  const double ms = static_cast<double>(round_trip.count()) / 1000;
  if (!smoothed_ms_) {
    smoothed_ms_ = ms;
    variation_ms_ = ms / 2;
    return;
  }
  variation_ms_ += (std::abs(*smoothed_ms_ - ms) - variation_ms_) / 4;
  *smoothed_ms_ += (ms - *smoothed_ms_) / 8;
}

std::optional<double> RoundTrips::most_ms() const {
  if (!smoothed_ms_) return std::nullopt;
  return *smoothed_ms_ + 4 * variation_ms_;
}

}  // namespace vergeset::snmp
