#pragma once

#include <chrono>
#include <cstddef>

#include "snmp/round_trips.h"

namespace vergeset::snmp {

/// How many units may be in hand at once. Pure: the time is told.
///
/// No more than `most`. After an answer that needed a second try, which says that something between us
/// and the units is full, a quarter fewer, at most once a second; for each unit that ends one more
/// again. A unit that has fallen silent gives its place to the next: it only waits. So that a network
/// that is down does not take all descriptors, no more than four times `most` may be silent. It has
/// fallen silent where its answer takes far longer than the answers of others do.
class Pace {
 public:
  using Moment = std::chrono::steady_clock::time_point;

  explicit Pace(std::size_t most);

  /// Whether one more may begin beside those that have begun and not ended.
  bool has_room(std::size_t in_hand) const;
  /// How many may speak at once now.
  std::size_t allowed() const { return allowed_; }

  void lost(Moment now);
  void answered(std::chrono::microseconds round_trip) { round_trips_.learn(round_trip); }
  /// When a unit with whose answer there is so much patience has fallen silent: after the longest of what
  /// answers take here (RoundTrips), a third of the patience at most.
  std::chrono::microseconds overdue(std::chrono::microseconds patience) const;
  void unit_ends();
  void falls_silent() { ++silent_; }
  void speaks_again() {
    if (silent_ > 0) --silent_;
  }

 private:
  std::size_t most_;
  std::size_t allowed_;
  std::size_t silent_ = 0;
  Moment fewer_until_{};
  RoundTrips round_trips_;
};

}  // namespace vergeset::snmp
