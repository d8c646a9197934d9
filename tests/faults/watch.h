#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "cells.h"
#include "change/apply.h"
#include "fault_disk.h"
#include "fleets.h"
#include "snmp/network.h"
#include "trace.h"

namespace vergeset::faults {

using std::chrono::milliseconds;

/// The promises, by the numbers that failures are told under.
///
///  1  every unit ends as desired, as found, or on record as needing attention with what to do; and what the
///     record says is true of it
///  2  no unit is in standby because of us unless the record says so, and none that answers is left there
///     without having been asked to operate
///  3  a SET leaves when its step's line and its unit's snapshot are on stable storage, not before
///  4  a SET names nothing that nobody asked for, and goes to no other unit; after a step that failed no
///     further step of the way there is sent
///  5  no SET is sent twice, nor another one after one without an answer, without a read of the unit between
///  6  off-air time because of us is within its bound; only what needs standby is set in standby
///  7  with the faults gone, a second apply finds nothing to do or settles
///  8  after a kill, recovery ends every unit, and done again does nothing
///  9  where the unit offers snmpSetSerialNo, no SET of ours overwrites what another hand has SET since we
///     read the unit
/// 10  where one thing goes wrong once on a network that loses nothing, a unit is settled or put back
struct Broken {
  int promise = 0;
  std::string text;
};

/// What an agent knows that a promise asks for.
struct Behind {
  const sim::Store* store = nullptr;
  bool offers_serial = true;
  bool another = false;  ///< recognisably not the unit of the inventory
};

/// Watches the wire, the stores and the disk beside the code under test, and asks that code nothing.
class Watch {
 public:
  Watch(const SmallFleet& fleet, FaultDisk& disk, Trace& trace);

  /// In a change of keys, which promises other things, all that is sent goes here instead.
  std::function<void(std::size_t unit, const std::vector<snmp::VarBind>& set)> of_keys;

  /// A change begins over all units as they are now.
  void change_begins(const std::vector<Behind>& behind, milliseconds now);
  /// The next program's first look; what was found before a kill stays what recovery goes back to.
  void time_is(milliseconds now) { now_ = now; }

  // On our side of the network.
  void set_leaves(std::size_t unit, const std::vector<snmp::VarBind>& set);
  void set_ends(std::size_t unit, const snmp::Answer& answer, const std::vector<snmp::VarBind>& set);
  void read_ends(std::size_t unit, bool answered);
  /// When our last read that got an answer was dealt with, for promise 9.
  milliseconds last_read(std::size_t unit) const { return units_[unit].last_read; }

  // On the unit's side.
  void read_is_answered(std::size_t unit, milliseconds now) { units_[unit].answered_at = now; }
  void before_ours(std::size_t unit);
  void after_ours(std::size_t unit, const std::vector<sim::VarBind>& carried, milliseconds read_before);
  /// Before a reboot, another hand, a row that vanishes: what is no doing of ours.
  void before_other(std::size_t unit);
  void other_hand_sets(std::size_t unit) { units_[unit].hand_at = now_; }
  /// It acknowledges SETs and leaves snmpSetSerialNo as it is: there it tells nobody of another hand.
  void does_not_count(std::size_t unit) { units_[unit].counts = false; }
  void engine_is_another(std::size_t unit, bool another_unit) {
    units_[unit].another_engine = true;
    units_[unit].another |= another_unit;
  }

  /// The unit's change has ended: is what is said of it true?
  void unit_ends(std::size_t unit, const change::UnitResult& result);
  /// It has not: recovery is to end it, and the result says so.
  void unit_stays_open(std::size_t unit, const change::UnitResult& result);
  /// The program was killed: how long a unit is off air is no longer its doing alone.
  void program_died() { died_ = true; }
  std::size_t sets() const { return sets_; }  ///< of ours that have left
  bool has_ended(std::size_t unit) const { return units_[unit].ended; }
  bool ours_carried(std::size_t unit) const { return units_[unit].ours; }
  Cells now(std::size_t unit) const;
  /// The first of what the files ask for that the unit has not; nothing where it has all.
  std::optional<std::string> missing(std::size_t unit) const;

  void breaks(int promise, const std::string& text);
  const std::optional<Broken>& broken() const { return broken_; }
  void may_not_end_badly(bool mild) { mild_ = mild; }

  /// Off air because of us: at most six of the fleet's mode-wait (change/walk.h), and for each step, there or
  /// back, three tries of its SET with what is waited for each and a read after each; for what is read around
  /// them as much as fifteen reads take that are tried as often as they may; what a slow disk takes for each
  /// step; and where a SET went unanswered on a unit without snmpSetSerialNo, or one that does not count it
  /// on, twice the time window of RFC 3414 2.2.3.
  milliseconds off_air_bound(std::size_t unit) const;

 private:
  struct Seen {
    const fleet::Unit* unit = nullptr;
    std::vector<const schema::Object*> objects;
    std::vector<Ask> asks;
    Behind behind;
    std::vector<Cells> found;   ///< the states it had up to the first SET of ours that was carried out
    std::vector<Cells> window;  ///< ... and since the last one, each before something else changed it
    std::set<std::pair<const schema::Object*, std::uint32_t>> touched;
    std::set<std::pair<const schema::Table*, std::uint32_t>> touched_rows;
    bool counts = true;           ///< its serial number
    bool others = false;          ///< something but us has changed it
    bool another = false;         ///< recognisably not the unit of the inventory
    bool another_engine = false;  ///< for all that SNMPv3 says it is another
    bool ours = false;            ///< a SET of ours was carried out
    bool ended = false;
    bool ended_open = false;  ///< as needing attention: a SET of ours that comes later makes no lie of that
    bool unanswered_ever = false;
    std::optional<milliseconds> off_air_since;
    milliseconds off_air{0};
    std::optional<milliseconds> operate_due;
    milliseconds answered_at{-1};
    milliseconds last_read{-1};
    milliseconds hand_at{-1};
    std::vector<snmp::VarBind> last_set;  ///< without the serial number
    bool read_since = true;
    bool unanswered = false;  ///< the last SET
    bool refused = false;     ///< the last SET
    bool carried = false;     ///< one has been since the last SET left
    bool answers = true;      ///< the last request
    bool asked_operate_last = false;
    // Of putting back.
    std::set<std::pair<const schema::Object*, std::uint32_t>> tried_back;
    std::set<std::pair<const schema::Table*, std::uint32_t>> tried_back_rows;
    std::optional<milliseconds> back_since;
    bool back_refused = false;
    bool back_unanswered = false;
    std::vector<snmp::VarBind> lost_set;  ///< got no answer, and none after it did
    std::optional<Cells> before_ended;
  };
  struct Line {
    std::string text;
    std::string change;  ///< "changes/0001"
    bool back = false;   ///< a restore step
  };

  const smi::Oid& serial() const;
  std::vector<snmp::VarBind> without_serial(const std::vector<snmp::VarBind>& set) const;
  std::optional<Line> last_line(const fleet::Unit& unit) const;
  void check_journal(const Seen& seen, const std::vector<snmp::VarBind>& set,
                     const std::optional<Line>& line);
  void check_asked_for(const Seen& seen, const std::vector<snmp::VarBind>& set);
  bool known_value(const Seen& seen, const schema::Object& object, const smi::Value& value) const;
  void check_order(Seen& seen, const std::vector<snmp::VarBind>& set, bool back);
  bool was_on_air(const Seen& seen) const;
  static void note_asked(Seen& seen, const std::vector<snmp::VarBind>& set, bool back);
  void check_lost(Seen& seen, const std::vector<snmp::VarBind>& set);
  void note_mode(Seen& seen, const std::vector<sim::VarBind>& carried);
  std::optional<std::string> not_as_desired(const Seen& seen, bool touched_alone) const;
  std::optional<std::string> not_as_found(const Seen& seen, bool touched_alone) const;
  void judge(const Seen& seen, const change::UnitResult& result);
  void note_back(Seen& seen, const std::vector<snmp::VarBind>& set) const;
  void judge_effort(const Seen& seen, const std::string& said);
  void judge_standby(Seen& seen, const change::UnitResult& result);
  std::size_t lines_of(const fleet::Unit& unit) const;
  std::string journal_path() const;

  const SmallFleet& fleet_;
  FaultDisk& disk_;
  Trace& trace_;
  std::vector<Seen> units_;
  milliseconds now_{0};
  std::optional<Broken> broken_;
  bool mild_ = false;
  bool died_ = false;
  std::size_t sets_ = 0;
};

}  // namespace vergeset::faults
