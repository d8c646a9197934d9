#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "schema/model.h"
#include "sim/moving.h"
#include "sim/row_status.h"
#include "sim/status.h"

namespace vergeset::sim {

/// What makes a simulated unit this one. The model must outlive every store made from it.
struct Nature {
  const schema::Model* model = nullptr;
  std::string name;          ///< seeds its moving status and serial numbers
  std::optional<Spot> site;  ///< where it stands; without one it has no position
  int transition_ms = 1500;  ///< between standby and operate
  /// Objects of the model that this unit does not offer, by name. Of a table whose RowStatus is among
  /// them it offers nothing.
  std::set<std::string> absent{};
};

/// The objects of one unit and the standards' rules for them. It knows no network and no clock: the
/// time comes in as milliseconds since 1970-01-01T00:00Z, real or virtual, and never goes back. A
/// copy is another unit in the same state, and nothing is shared but the model.
///
/// A SET is check(), then commit() of what was checked (RFC 3416 4.2.5: as if simultaneous), then
/// undo() where another party to the same request could not commit.
class Store {
 public:
  /// A unit as it left its factory, in standby. `quirks` are the fleet's traits for it; nothing
  /// takes those of the model alone.
  Store(Nature nature, const fleet::Desired* quirks, std::int64_t now);

  const Nature& nature() const { return nature_; }
  const schema::Model& model() const { return *nature_.model; }

  /// The value, or noSuchObject or noSuchInstance (RFC 3416 4.2.1).
  smi::Value get(const smi::Oid& instance, std::int64_t now) const;
  /// The first variable behind `after`, or nothing (RFC 3416 4.2.2).
  std::optional<VarBind> get_next(const smi::Oid& after, std::int64_t now) const;

  Verdict check(const std::vector<VarBind>& set, std::int64_t now) const;
  void commit(const std::vector<VarBind>& set, std::int64_t now);
  void undo();

  /// Puts what the files ask for into place, as if it had been SET long ago. Rows without an index
  /// take the first free one.
  void apply(const fleet::Desired& desired, std::int64_t now);

  /// One value at the unit itself, past access and standby. A status column takes the actions of
  /// RFC 2579; a mode that is only shown is the unit's at once. What moves by itself stands still from then
  /// on, in all rows: a sensor that is stuck, a receiver that is elsewhere.
  Result<bool> put_by_hand(const schema::Object& object, std::uint32_t index, const smi::Value& value,
                           std::int64_t now);

  std::int64_t mode(std::int64_t now) const;  ///< a value of ModeRule::status; 0 without a mode rule
  bool operating(std::int64_t now) const;
  bool in_standby(std::int64_t now) const;  ///< true without a mode rule: nothing then refuses
  /// The next `times` SETs of operate end in standby, or in fault.
  enum class Stuck { standby, fault };
  void stick(Stuck where, int times);

  /// True once after a SET of rsuReboot.
  bool take_reboot_request();
  /// Starts anew in the mode last asked for; counters and times begin again.
  void reboot(std::int64_t now);

  /// Every variable, in order.
  std::vector<VarBind> walk(std::int64_t now) const;

  /// One stored value; those that move by themselves are not among them.
  struct Cell {
    const schema::Object* object = nullptr;
    std::uint32_t index = 0;
    smi::Value value;
  };
  std::vector<Cell> settable_cells() const;
  void clear_rows();  ///< of all tables whose rows are made
  /// A cell of settable_cells() again, as it was; makes the row that it is of, notReady until its
  /// status says otherwise.
  Result<bool> restore(const schema::Object& object, std::uint32_t index, const smi::Value& value);
  /// The mode is at once what was asked for.
  void settle_mode(std::int64_t now);
  /// Becomes the twin of a unit: holds these cells and no other, also those that only a unit itself writes
  /// and values that its model does not allow, and stands in `mode` (of ModeRule::status), where that is
  /// known. Nothing but the mode moves by itself any more.
  Result<bool> become(const std::vector<Cell>& found, std::optional<std::int64_t> mode, std::int64_t now);

 private:
  friend class SetPlan;

  struct Slot {
    const schema::Object* object = nullptr;
    Moving moving = Moving::still;
    bool needs_standby = false;
    bool required = false;
    std::map<std::uint32_t, smi::Value> cells;
  };
  struct TableRule {
    std::size_t status = 0;  ///< slot
    std::vector<std::size_t> columns;
    bool needs_standby = false;
  };
  struct Transition {
    std::int64_t from = 0;
    std::int64_t to = 0;
    std::int64_t due = 0;
  };
  /// Messages on the air: how many were sent up to `until`.
  struct Air {
    std::int64_t until = 0;
    std::map<std::string, double> sent;  ///< by PSID
  };
  struct Running {
    Transition transition;
    Air air;
    bool reboot_asked = false;
    int stuck_times = 0;
    Stuck stuck = Stuck::standby;
  };
  struct Undo {
    struct Was {
      std::size_t slot = 0;
      std::uint32_t index = 0;
      std::optional<smi::Value> value;
    };
    std::vector<Was> cells;  ///< in the order of the changes
    Running running;
  };

  std::size_t slot_before(const smi::Oid& oid) const;  ///< last slot at or before; slots_.size() if none
  std::optional<std::size_t> slot_of(const schema::Object* object) const;
  const smi::Value* cell(std::size_t slot, std::uint32_t index) const;
  std::int64_t number(const schema::Object* object, std::uint32_t index, std::int64_t otherwise) const;
  smi::Value read(const Slot& slot, std::uint32_t index, const smi::Value& stored, std::int64_t now) const;
  std::optional<smi::Value> moved(const Slot& slot, std::uint32_t index, std::int64_t now) const;
  std::optional<smi::Value> moved_row(const Slot& slot, std::uint32_t index, std::int64_t now) const;

  std::optional<std::int64_t> deviation(const std::optional<Spot>& spot) const;

  const TableRule* rule_of(const schema::Table* table) const;
  /// The table that a SET of this action empties (rsuMsgRepeatDeleteAll), or nothing.
  const schema::Table* emptied_by(const schema::Object& object) const;
  static bool possible_row(const schema::Table& table, std::uint32_t index);
  RowState row_state(const schema::Table& table, std::uint32_t index) const;
  std::vector<std::uint32_t> rows(const schema::Table& table) const;
  std::int64_t most_rows_of(const schema::Table& table) const;

  void put(std::size_t slot, std::uint32_t index, smi::Value value);
  void erase(std::size_t slot, std::uint32_t index);
  void make_row(const schema::Table& table, std::uint32_t index);
  void erase_row(const schema::Table& table, std::uint32_t index);
  void set_row_state(const schema::Table& table, std::uint32_t index, RowState state);
  bool row_complete(const schema::Table& table, std::uint32_t index) const;
  Result<bool> row_by_hand(const schema::Table& table, std::uint32_t index, std::int64_t action);

  void ask_mode(std::int64_t asked, std::int64_t now);
  void act(const schema::Object& object, std::uint32_t index, std::int64_t value);

  std::map<std::string, double> sending() const;  ///< messages a millisecond, by PSID, when operating
  void count_air(std::int64_t now);
  Air air_at(std::int64_t now) const;

  Nature nature_;
  std::uint64_t seed_ = 0;
  std::int64_t started_ = 0;
  std::vector<Slot> slots_;  ///< by OID
  std::map<const schema::Table*, TableRule> tables_;
  Running running_;
  Undo undo_;
};

}  // namespace vergeset::sim
