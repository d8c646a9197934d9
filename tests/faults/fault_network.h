#pragma once

#include <coroutine>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "agent.h"
#include "dice.h"
#include "plan.h"
#include "records/clock.h"
#include "snmp/network.h"
#include "trace.h"
#include "watch.h"

namespace vergeset::faults {

/// Datagrams in virtual time between links and agents: lost, doubled, late, overtaking each other. Its links
/// keep to what snmp/udp_link.h promises: reads are tried again, each try waiting longer; a SET is sent once
/// and waited for as long as the first two tries of a read take; where the unit says notInTimeWindow the link
/// takes over its clock and sends once more what was not carried out; unknownEngineID ends the link.
class FaultNetwork : public snmp::Network {
 public:
  FaultNetwork(Dice dice, const Weather& weather, Watch& watch, Trace& trace)
      : dice_(dice), weather_(weather), watch_(watch), trace_(trace) {}

  std::vector<Agent>* agents = nullptr;
  std::map<std::string, std::size_t> unit_at;  ///< by host
  int kill_at_event = 0;                       ///< 0: never
  std::function<void()> dies;                  ///< called where it is killed
  /// More events than a change can take, and longer than it may.
  static constexpr int most_events = 60000;
  static constexpr milliseconds longest{6 * 3600 * 1000};

  snmp::Task<snmp::Opened> open(snmp::Endpoint endpoint,
                                std::shared_ptr<const snmp::Principal> principal) override;
  snmp::Task<void> sleep(milliseconds duration) override;
  milliseconds now() const override { return time_; }
  void run_each(std::size_t count, const std::function<snmp::Task<void>(std::size_t)>& begin,
                std::size_t at_once) override;

  /// The program is gone, its links with it; what is on its way to the units still arrives.
  void program_dies();
  void program_begins();
  /// Time passes and datagrams arrive.
  void pass(milliseconds duration);
  void weather_is(const Weather& weather) { weather_ = weather; }
  void takes(milliseconds duration) { time_ += duration; }
  /// Has the unit's time_passes() called then.
  void remind(std::size_t unit, milliseconds at);
  int events() const { return count_of_events_; }

 private:
  class FaultLink;
  struct Exchange;
  using ExchangePtr = std::shared_ptr<Exchange>;
  struct Event {
    enum class Kind { resume, timeout, to_unit, to_us, moment };
    milliseconds at{0};
    std::uint64_t number = 0;
    Kind kind = Kind::resume;
    std::coroutine_handle<> handle;
    ExchangePtr exchange;
    std::shared_ptr<const Response> response;
    Stamp stamp;
    std::uint64_t wait = 0;
    std::uint64_t program = 0;
    std::size_t unit = 0;
  };
  struct Later {
    bool operator()(const std::unique_ptr<Event>& a, const std::unique_ptr<Event>& b) const {
      return a->at != b->at ? a->at > b->at : a->number > b->number;
    }
  };
  struct Sleep;
  struct Wait;

  std::unique_ptr<Event> event(Event::Kind kind, milliseconds at);
  void add(std::unique_ptr<Event> event);
  std::unique_ptr<Event> next();
  void handle(Event& event);
  void deliver(Event& event);
  void arrive(Event& event);
  void send(const ExchangePtr& exchange);
  milliseconds travel(bool is_set, std::size_t unit);
  void check_killed();

  Dice dice_;
  Weather weather_;
  Watch& watch_;
  Trace& trace_;
  milliseconds time_{0};
  std::uint64_t numbers_ = 0;
  std::uint64_t program_ = 1;
  int count_of_events_ = 0;
  int events_of_program_ = 0;
  std::vector<std::unique_ptr<Event>> events_;
};

/// The wall clock over it, which may be set while the monotonic one goes on.
class FaultClock : public records::Clock {
 public:
  explicit FaultClock(const FaultNetwork& network) : network_(network) {}
  struct Step {
    milliseconds at;
    std::int64_t by_ms;
  };
  std::vector<Step> steps;
  std::int64_t now() const override {
    std::int64_t time = start_ms + network_.now().count();
    for (const Step& step : steps) {
      if (network_.now() >= step.at) time += step.by_ms;
    }
    return time;
  }

 private:
  const FaultNetwork& network_;
};

}  // namespace vergeset::faults
