#pragma once

#include <chrono>
#include <optional>

namespace vergeset::snmp {

/// How long answers take (RFC 6298 section 2): the smoothed round trip and how much it varies.
class RoundTrips {
 public:
  void learn(std::chrono::microseconds round_trip);
  /// Few answers take longer, in ms: the smoothed round trip and four times its variation. Nothing before the
  /// first answer.
  std::optional<double> most_ms() const;

 private:
  std::optional<double> smoothed_ms_;
  double variation_ms_ = 0;
};

}  // namespace vergeset::snmp
