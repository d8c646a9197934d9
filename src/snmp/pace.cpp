#include "snmp/pace.h"

#include <algorithm>
#include <cmath>

namespace vergeset::snmp {

namespace {

constexpr std::size_t fewest = 8;
constexpr std::size_t silent_for_each = 4;
constexpr std::chrono::microseconds soonest_overdue = std::chrono::milliseconds(100);

}  // namespace

Pace::Pace(std::size_t most) : most_(std::max<std::size_t>(most, 1)), allowed_(most_) {}

bool Pace::has_room(std::size_t in_hand) const {
  const std::size_t silent = std::min(silent_, in_hand);
  return in_hand - silent < allowed_ && silent < silent_for_each * most_;
}

void Pace::lost(Moment now) {
  if (now < fewer_until_) return;
  fewer_until_ = now + std::chrono::seconds(1);
  allowed_ = std::min(allowed_, std::max(fewest, allowed_ - allowed_ / 4));
}

std::chrono::microseconds Pace::overdue(std::chrono::microseconds patience) const {
  const auto most = patience / 3;
  const auto usual = round_trips_.most_ms();
  if (!usual) return most;
  const auto here = std::chrono::microseconds(std::lround(std::min(*usual, 1e6) * 1000));
  return std::clamp(here, std::min(soonest_overdue, most), most);
}

void Pace::unit_ends() {
  allowed_ = std::min(allowed_ + 1, most_);
}

}  // namespace vergeset::snmp
