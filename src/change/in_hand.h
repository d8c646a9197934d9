#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "change/settle.h"
#include "change/survey.h"
#include "records/unit_log.h"

namespace vergeset::change {

/// A unit while it is being changed or recovered: its link, what its journal and its log get, and what has
/// become of it so far. What the disk refuses throws DiskError.
class InHand {
 public:
  InHand(const World& world, const fleet::Unit& unit, records::Journal& journal,
         const SettleOptions& options);

  const World& world() const { return world_; }
  const fleet::Unit& unit() const { return unit_; }
  const SettleOptions& options() const { return options_; }
  snmp::Link& link() { return *link_; }
  records::UnitLog& log() { return log_; }
  UnitResult& result() { return result_; }

  void end(Outcome outcome, std::string what);
  /// Ends it where nothing was read: no answer, or another engine than is expected.
  void not_reached(const snmp::Error& error);
  /// What ended it was another engine than is expected.
  bool met_stranger() const { return met_stranger_; }
  void say(const std::string& what) const;
  /// Nothing is sent that is not on record first: a unit whose records fail is left to recovery.
  void records_fail(const records::DiskError& error, bool in_standby);

  /// The unit by its engine as a snapshot has it: what answers has to be that.
  void known_as(const std::string& engine_id_hex) { engine_id_ = engine_id_hex; }
  /// The unit as it was at first: what answers later has to have its engine, or the rsuID that is its name,
  /// since an agent that starts anew may have made itself another engine id.
  void known_as(const AsFound& found);
  /// Why what answers now is not the unit that was known at first; empty where it is.
  std::string stranger(const AsFound& found) const;

  /// False, and the result ended, where another has the unit (World::claim), or where there is no link. The
  /// unit is ours from the first time until this goes.
  ///
  /// Which engine is spoken to: at first the one that is expected of the unit, in a recovery the snapshot's.
  /// Once the unit is known by its name too, the inventory's alone: an agent that our change made start anew
  /// may have another, and would stay half changed, in standby, for the sake of a digest that its replacement
  /// would get.
  snmp::Task<bool> open();
  /// The unit is ours from here until this goes; false, and the result ended, where another has it.
  bool claimed();
  /// Opens a link as another principal than the unit's own, or says why not. It takes the place of the one
  /// before.
  snmp::Task<std::optional<snmp::Error>> open_as(std::shared_ptr<const snmp::Principal> principal);
  /// What says which unit it is, its mode, and its serial number.
  Wanted identity() const;
  /// Reads what is wanted; the time of reading is put on it.
  snmp::Task<Surveyed> look(Wanted wanted);

  /// "LK-104.snapshot.yaml" in the folder of the change.
  std::string path(const std::string& name) const;

  /// All lines up to this one are on disk when it ends. Units that come here in one turn of the loop are
  /// served by one sync.
  snmp::Task<void> on_disk(std::uint64_t line);
  // What these return is to be awaited by on_disk().
  std::uint64_t add_begin(const records::Snapshot& snapshot, const std::string& engine_id, std::size_t steps);
  std::uint64_t add_step(std::string_view event, std::size_t number, const Step& step, const AsFound& found,
                         bool numbered);
  /// Of a change of keys: no snapshot, and no values.
  std::uint64_t add_key_begin(const std::string& engine_id, std::size_t steps, const std::string& giver);
  std::uint64_t add_key_step(std::string_view event, std::size_t number, const std::string& about);
  std::uint64_t add_restore(const std::string& why);
  std::uint64_t add_outcome();
  /// On disk with the unit's next line: nothing rests on it.
  void add_result(std::size_t number, const std::string& failure);

  /// Puts the outcome on record, unless the unit is left to recovery. Where the disk fails it is.
  snmp::Task<void> close();

 private:
  records::JsonLine event(std::string_view name) const;
  std::optional<std::string> only_engine() const;
  std::string unit_id(const AsFound& found) const;
  std::string another_engine(const std::string& heard) const;

  const World& world_;
  const fleet::Unit& unit_;
  records::Journal& journal_;
  const SettleOptions& options_;
  records::UnitLog log_;
  UnitResult result_;
  std::shared_ptr<void> claim_;
  std::unique_ptr<snmp::Link> link_;
  std::string engine_id_;
  bool known_ = false;  ///< by its name too
  bool met_stranger_ = false;
  bool announced_ = false;  ///< a step is in the journal: a SET may have been sent
};

/// Keeps what the change touched, as left, for a rollback to compare with: "LK-104.left.yaml". Where the unit
/// does not answer, or the disk fails, there is none.
snmp::Task<void> keep_as_left(InHand& hand, const records::Snapshot& snapshot);

/// The health of a unit as read, into its result.
void judge(const fleet::Fleet& fleet, const fleet::Unit& unit, const AsFound& found, UnitResult& result);

}  // namespace vergeset::change
