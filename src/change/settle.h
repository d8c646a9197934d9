#pragma once

#include <functional>
#include <memory>
#include <string>

#include "change/goal.h"
#include "change/outcome.h"
#include "fleet/fleet.h"
#include "records/clock.h"
#include "records/disk.h"
#include "records/engines.h"
#include "records/journal.h"
#include "records/known_units.h"
#include "records/unit_log.h"
#include "smi/result.h"
#include "snmp/network.h"

namespace vergeset::change {

/// Told of each unit while many are read, for a person who waits.
class Progress {
 public:
  virtual ~Progress() = default;
  virtual void begins() = 0;
  virtual void ends(bool failed) = 0;
};

/// What a change needs from outside the core. All of it outlives the change.
struct World {
  snmp::Network& network;
  records::Disk& disk;
  const records::Clock& clock;
  const fleet::Fleet& fleet;
  /// Who a unit is spoken to as, by its credential; made before anything is sent.
  std::function<std::shared_ptr<const snmp::Principal>(const fleet::Unit&)> principal_of;
  records::Engines* engines = nullptr;  ///< what was remembered of units' engines, and is to be; may be none
  Progress* progress = nullptr;
  /// Has a unit to this change alone, from before it is surveyed until the change of it has ended: as long as
  /// what is returned lives. A problem says who has it. Empty: nobody else can have it.
  std::function<Result<std::shared_ptr<void>>(const fleet::Unit&)> claim = {};
  records::KnownUnits* known = nullptr;  ///< which engine each unit had at first contact; may be none
};

/// The engine that the unit has to have: its inventory entry's, or the one that is known of it.
std::optional<std::string> expected_engine(const World& world, const fleet::Unit& unit);

/// Opens a link to a unit as its inventory entry says. Another engine than `only_engine`, where there is one,
/// is not spoken to.
snmp::Task<snmp::Opened> open_link(const World& world, const fleet::Unit& unit,
                                   std::optional<std::string> only_engine);
/// The same with the engine that is expected.
snmp::Task<snmp::Opened> open_link(const World& world, const fleet::Unit& unit);

/// The unit answered, and did not let the user in.
bool refuses_user(snmp::Failure failure);

/// Another unit answered than is expected, by its engine or its certificate.
bool is_stranger(snmp::Failure failure);

/// Empty, or what is said of a unit where this is why it was not reached: a stranger.
std::string stranger_text(const World& world, const fleet::Unit& unit, const snmp::Error& error);

/// Takes a unit that has answered, and that nothing speaks against, for the one that is known from now on.
/// Where that is a replacement that a person accepted, the unit's log tells.
void know(const World& world, const fleet::Unit& unit, const snmp::Link& link, records::UnitLog& log);

/// Remembers the engine of a unit that has answered.
void remember_engine(const World& world, const fleet::Unit& unit, const snmp::Link& link);

/// What is told while a unit is being changed.
struct Watcher {
  std::function<void(const fleet::Unit&, const std::string&)> says;
};

struct SettleOptions {
  int change = 0;              ///< its number
  bool allow_cut_off = false;  ///< may set what can cut the manager off
  Watcher watcher;
  std::string purpose = {};  ///< in the unit's log; empty: "change " and the number
};

/// One unit's change, from reach to as left: identify, survey, compare, snapshot, journal, steps, verify
/// by reading anew, health. Where a step fails or verification differs the unit is restored from its
/// snapshot and verified. Never throws for what a unit does; DiskError passes through.
snmp::Task<UnitResult> settle(const World& world, const fleet::Unit& unit, const Goal& goal,
                              records::Journal& journal, const SettleOptions& options);

}  // namespace vergeset::change
