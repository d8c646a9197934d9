#include "relay_queue.h"

#include <algorithm>
#include <utility>

namespace vergeset::tests {

bool RelayQueue::happens(double chance) {
  return chance > 0 && std::uniform_real_distribution<>(0, 1)(dice_) < chance;
}

std::size_t RelayQueue::waiting(Time now) {
  std::erase_if(on_the_line_, [now](Time through) { return through <= now; });
  // The first is on the line already.
  return on_the_line_.empty() ? 0 : on_the_line_.size() - 1;
}

void RelayQueue::send_off(Time due, Datagram datagram) {
  const auto place = std::upper_bound(on_its_way_.begin(), on_its_way_.end(), due,
                                      [](Time time, const OnItsWay& other) { return time < other.due; });
  on_its_way_.insert(place, {due, std::move(datagram)});
}

void RelayQueue::enter(Time now, Datagram datagram) {
  const std::size_t octets = datagram.octets.size() + header_octets;
  ++passed_.datagrams;
  passed_.octets += octets;
  Time through = now;
  if (weather_.kbit_per_s > 0) {
    const std::size_t others = waiting(now);
    const bool line_is_busy = !on_the_line_.empty();
    if (line_is_busy && others >= weather_.queue) {
      ++passed_.dropped;
      return;
    }
    const double us = static_cast<double>(octets) * 8 * 1000 / weather_.kbit_per_s;
    through = (line_is_busy ? on_the_line_.back() : now) + Time(static_cast<Time::rep>(us));
    on_the_line_.push_back(through);
  }
  const bool too_large = weather_.largest > 0 && octets > weather_.largest;
  if (too_large || happens(weather_.loss)) {
    ++passed_.dropped;
    return;
  }
  Time due = through + weather_.delay;
  if (weather_.spread.count() > 0) {
    due += Time(std::uniform_int_distribution<Time::rep>(0, weather_.spread.count())(dice_));
  }
  if (happens(weather_.duplicate)) send_off(std::max(due, last_due_), datagram);
  if (happens(weather_.reorder)) {
    due += weather_.held_back;
  } else {
    due = last_due_ = std::max(due, last_due_);
  }
  send_off(due, std::move(datagram));
}

std::vector<Datagram> RelayQueue::leave(Time now) {
  std::vector<Datagram> arrived;
  const auto end = std::find_if(on_its_way_.begin(), on_its_way_.end(),
                                [now](const OnItsWay& one) { return one.due > now; });
  for (auto one = on_its_way_.begin(); one != end; ++one) arrived.push_back(std::move(one->datagram));
  on_its_way_.erase(on_its_way_.begin(), end);
  return arrived;
}

std::optional<RelayQueue::Time> RelayQueue::next() const {
  if (on_its_way_.empty()) return std::nullopt;
  return on_its_way_.front().due;
}

}  // namespace vergeset::tests
