#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "fault_disk.h"
#include "fleets.h"
#include "sim/status.h"

namespace vergeset::faults {

/// What the network does to a datagram, each way.
struct Weather {
  double loss_there = 0;
  double loss_back = 0;
  double duplicate = 0;  ///< arrives twice, the copies apart
  double late = 0;       ///< is held back past timeouts: up to 160 s
  int latency_ms = 20;
  int spread_ms = 0;  ///< up to so much more, so that datagrams overtake each other
  bool calm() const { return loss_there == 0 && loss_back == 0 && duplicate == 0 && late == 0; }
};

/// What a unit does wrong, and when.
struct UnitTrouble {
  enum class Kind {
    refuses,         ///< a SET, by an error-status of RFC 3416
    refuses_reads,   ///< a read
    too_big,         ///< answers a SET with tooBig
    ignores,         ///< acknowledges a SET and carries nothing out
    ignores_one,     ///< ... and leaves out one of its objects
    in_part,         ///< carries out some of it and answers with an error, or nothing
    clips,           ///< stores another value than it was given
    loses_response,  ///< carries a SET out and is not heard
    loses_request,   ///< does not hear a SET
    held_back,  ///< a SET is under way to it for up to 140 s; only where snmpSetSerialNo tells old from new
    silent,     ///< for a while
    reboots,    ///< keeps what was SET
    reboots_losing,  ///< forgets what was SET since it started
    sticks,          ///< asked to operate it stays in standby
    faults,          ///< asked to operate it goes to fault
    row_vanishes,
    clock_jumps,     ///< its SNMPv3 clock is set: notInTimeWindow
    boots_up,        ///< its snmpEngineBoots go up and nothing else
    engine_changes,  ///< another engine id: unknownEngineID
    replaced,        ///< another unit stands there
    other_hand,      ///< another manager writes
  };
  enum class When { before_set, after_set, before_read, at_time };
  Kind kind = Kind::refuses;
  When when = When::before_set;
  int number = 1;  ///< of that SET, that read, or milliseconds
  int times = 1;   ///< so many times from there on; `always` without end
  sim::Status status = sim::Status::gen_err;
  std::uint64_t detail = 0;  ///< which object, which value

  static constexpr int always = 1000000;
};

struct UnitPlan {
  enum class Start { factory, factory_on_air, as_desired, as_desired_on_air };
  Start start = Start::factory;
  int differences = 0;  ///< so many cells moved away from where it starts
  std::uint64_t detail = 0;
  int transition_ms = 1500;
  bool offers_serial = true;      ///< snmpSetSerialNo (RFC 3418)
  bool another = false;           ///< another unit of the fleet stands there from the first
  bool rows_need_scalar = false;  ///< takes message rows only once the notify port is set
  std::size_t most_octets = 1472;
  std::vector<UnitTrouble> troubles;
};

struct Plan {
  std::uint64_t seed = 0;
  const SmallFleet* fleet = nullptr;
  Weather weather;
  std::vector<UnitPlan> units;
  std::vector<DiskTrouble> disk;
  int disk_slow_ms = 0;       ///< a write takes up to so long
  int clock_steps = 0;        ///< so often the wall clock jumps
  int held_after_units = -1;  ///< Ctrl-C when so many units have ended; -1: none
  bool remembers_engines = false;
  int kill_at_event = 0;  ///< 0: no kill; counted over the network's events
  int kill_at_write = 0;
  bool power_cut = false;
  int kill_recovery_at_event = 0;

  bool killed() const { return kill_at_event > 0 || kill_at_write > 0; }
  /// At most one thing goes wrong, once, on a network that loses nothing: a unit that comes off worse than
  /// put back was not looked after.
  bool mild() const;
};

Plan draw(std::uint64_t seed);
std::string to_text(const UnitTrouble& trouble);
std::vector<std::string> to_text(const Plan& plan);

}  // namespace vergeset::faults
