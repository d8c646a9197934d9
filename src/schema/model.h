#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schema/place.h"
#include "smi/oid.h"
#include "smi/syntax.h"

namespace vergeset::schema {

enum class Access { not_accessible, read_only, read_write, read_create };

/// What vergeset must know of an object and no MIB says. A group may override the last three for a
/// vendor's quirk.
struct Traits {
  bool action = false;         ///< SETting it does something (reboot); never desired, never restored
  bool running = false;        ///< written by the unit's own programs or a query's state: not configuration
  bool needs_standby = false;  ///< the unit takes a SET of it in standby only
  bool cuts_off = false;       ///< changing it can cut the manager off
  bool ignored = false;        ///< a group says: never compare this one here
};

/// How a row that is there is changed.
enum class RowEdit {
  in_place,        ///< SET of the columns while the row is active
  out_of_service,  ///< notInService, columns, active (RFC 2579 RowStatus)
  remake,          ///< destroy, then createAndGo with every column
};

struct Table;

/// An object type (RFC 2578): a scalar, or a column of a table.
struct Object {
  std::string name;
  smi::Oid oid;  ///< of the object type; its instance is .0 for a scalar, .index for a column
  smi::Syntax syntax;
  Access access = Access::read_only;
  std::string unit;  ///< unit of measure that the number counts in; empty for none
  std::string note;
  std::optional<smi::Value>
      initial;  ///< `default:` of the model: what a factory unit holds. Never applied by itself.
  Traits traits;
  const Table* table = nullptr;  ///< nothing for a scalar
  std::string common;            ///< its common name on this model, for a column within its table's; or empty

  /// As files and people name it best.
  const std::string& usual_name() const { return common.empty() ? name : common; }

  bool settable() const { return access == Access::read_write || access == Access::read_create; }
  /// May stand in a fleet's files as a desired value.
  bool configuration() const { return settable() && !traits.action && !traits.running; }
};

/// A conceptual table with one integer index, as all tables of both RSU standards are.
struct Table {
  std::string name;
  smi::Oid oid;    ///< of the table
  smi::Oid entry;  ///< of the conceptual row, oid.1
  std::string index;
  std::vector<const Object*> columns;  ///< by column number, the index too
  const Object* status = nullptr;      ///< the RowStatus column; nothing where rows are the unit's own
  const Object* most = nullptr;        ///< the scalar that says how many rows the unit takes
  RowEdit edit = RowEdit::in_place;
  bool needs_standby = false;  ///< for making and removing rows; each column has its own trait too
  std::string note;
  std::string common;  ///< its common name on this model, or empty

  const std::string& usual_name() const { return common.empty() ? name : common; }

  bool rows_are_made() const { return status != nullptr; }
  /// The least and the greatest index.
  smi::Range index_range{1, 2147483647};
};

/// Where a model keeps standby and operate.
struct ModeRule {
  const Object* asked = nullptr;   ///< the mode asked for, settable
  const Object* status = nullptr;  ///< the mode the unit is in; the same object in RSU 4.1
  std::int64_t standby = 0;        ///< values of `asked`
  std::int64_t operate = 0;
  std::int64_t status_standby = 0;  ///< values of `status`
  std::int64_t status_operate = 0;
  std::optional<std::int64_t> status_fault;
};

/// The objects that say which unit this is.
struct IdentityRule {
  const Object* present = nullptr;   ///< a unit of this model has an instance of it
  std::optional<smi::Value> equals;  ///< and it has this value
  const Object* unit_id = nullptr;   ///< rsuID
  const Object* latitude = nullptr;  ///< where the unit finds itself (1e-7 degree); may be nothing
  const Object* longitude = nullptr;
  const Object* sentence = nullptr;  ///< or an NMEA 0183 GGA sentence
};

/// What a unit says unasked (RFC 2578 NOTIFICATION-TYPE).
struct Notification {
  std::string name;   ///< "linkDown"
  std::string about;  ///< in a few words, or empty
};

/// A variable that notifications bring and that is no object of the model: an interface's, or one that is
/// accessible-for-notify alone.
struct Told {
  std::string name;
  smi::Syntax syntax;
};

/// The objects that a kind of unit has: a standard's, or an agency's own. The system group (RFC
/// 3418) is part of each. Loaded once; objects and tables stay where they are while it lives.
class Model {
 public:
  std::string name;   ///< "ntcip1218-v01"
  std::string title;  ///< "NTCIP 1218 v01"
  smi::Oid root;
  std::optional<ModeRule> mode;
  IdentityRule identity;
  std::map<std::string, Object, std::less<>> objects;
  std::map<std::string, Table, std::less<>> tables;
  std::map<smi::Oid, Notification> notifications;  ///< by snmpTrapOID
  std::map<smi::Oid, Told> told;                   ///< by object type, without an instance

  const Object* object(std::string_view object_name) const;
  const Table* table(std::string_view table_name) const;
  /// The object whose instance `instance` is (scalar .0 or a row of a column), or nothing.
  const Object* object_at(const smi::Oid& instance) const;
  /// "rsuMode.0", "rsuMsgRepeatPsid.3", or the dotted identifier where the model has no name.
  std::string name_of(const smi::Oid& instance) const;

  /// Called by the loader when all objects stand: fills the index behind object_at.
  void index_objects();

 private:
  std::map<smi::Oid, const Object*> by_oid_;
};

/// One setting or column of common.yaml on one model.
struct Mapping {
  const Object* object = nullptr;
  std::map<std::string, std::string> labels;  ///< common label to the object's own; others pass as they are
  bool from_payload =
      false;  ///< not an object: the J2735 message id in the first two octets of `object`, for matching
};

/// A name that means the same on every model.
struct CommonSetting {
  std::string name;
  std::string about;
  std::string unit;                   ///< a value must carry a unit of this kind; empty: none
  std::vector<smi::Label> labels;     ///< labels of numbers ("MAP" 18), for objects without labels
  std::map<std::string, Mapping> on;  ///< by model
  std::string refusal;    ///< why a model that is not in `on` cannot have it; empty only where left_out
  bool left_out = false;  ///< where missing, the value is silently meaningless (and `where` says so)
};

struct CommonTable {
  std::string name;
  std::string about;
  std::map<std::string, const Table*> on;  ///< by model
  std::map<std::string, CommonSetting> columns;
};

/// All models and the common settings over them.
class Schema {
 public:
  std::map<std::string, std::unique_ptr<Model>> models;
  std::map<std::string, CommonSetting> settings;
  std::map<std::string, CommonTable> tables;

  const Model* model(std::string_view name) const;
};

/// Loads `*.yaml` of `folder` (a file with `model:` is a model; system.yaml is part of each;
/// common.yaml holds the common settings), then of `own` where that is not empty: a fleet's models/,
/// where a file may bring a new model, build on one (`based-on:`), or add common mappings.
Schema load_schema(const std::string& folder, const std::string& own, Faults& faults);

}  // namespace vergeset::schema
