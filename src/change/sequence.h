#pragma once

#include <optional>
#include <string>
#include <vector>

#include "change/as_found.h"
#include "change/difference.h"
#include "change/mode.h"
#include "schema/model.h"
#include "snmp/network.h"

namespace vergeset::change {

/// One variable binding of a step, with what its reader and its undoing need.
struct Assignment {
  std::string name;  ///< "rsuMode.0"
  smi::Oid oid;
  smi::Value value;
  smi::Syntax syntax;
  std::string text;         ///< the value in words
  bool reads_late = false;  ///< asks for a mode that reads as before until it is reached (RSU 4.1)

  /// Whether an instance that was read back shows that this was carried out. RowStatus: createAndGo
  /// and active read active, createAndWait reads notReady or notInService, destroy reads nothing.
  bool carried_out(const smi::Value& read) const;
  bool makes_row() const;
};

/// One SNMP request of a sequence.
struct Step {
  enum class Kind {
    set,         ///< one SET
    go_standby,  ///< SET of the mode, then wait until the unit is in standby
    go_operate,  ///< SET of the mode, then wait until the unit is in operate
  };
  Kind kind = Kind::set;
  std::string about;     ///< "notify-address, notify-port", "make store-and-repeat map (row 3)"
  bool standby = false;  ///< carried out while the unit is in standby because of us
  bool cuts_off = false;
  std::vector<Assignment> assignments;
};

/// The ordered SETs that remove the differences of one unit (design 5, "The sequence").
struct Sequence {
  std::vector<Step> steps;
  bool leaves_operate = false;  ///< the unit is on air now and will be in standby for a while
  bool ends_off_air = false;    ///< the files ask for standby, and the unit is on air now
};

/// The order in which differences are taken: as compared, or the other way round for a restore.
enum class Order { forward, reverse };

/// The step that asks for operate, or for standby.
Step mode_step(const schema::ModeRule& rule, bool operate);

/// Pure. On-air steps come first, then the standby bracket, then what can cut the manager off; within
/// each, removals before changes before new rows. Scalars share requests up to message_octets. In reverse the
/// bracket comes first.
Sequence sequence(const schema::Model& model, const std::vector<Difference>& differences,
                  const ModeFound& mode, Order order = Order::forward);

/// Seconds that the unit is expected to be off air: two transitions at the model's usual pace and a
/// round trip a step. A guess for the person who decides; what it was is measured.
double expected_off_air_s(const Sequence& sequence);

}  // namespace vergeset::change
