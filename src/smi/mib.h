#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "smi/oid.h"
#include "smi/syntax.h"

namespace vergeset::smi {

/// What a MIB module (RFC 2578, RFC 1212) says of its objects, as values: `snmp/mib_file.h` reads it,
/// `schema/model_text.h` makes a model file of it. Text in it is a stranger's.

/// The type that a syntax comes down to, its textual conventions taken away.
enum class MibType {
  node,     ///< no object: a group, a module, a notification
  rows,     ///< an object whose type is none of these: SEQUENCE OF, an entry, or a type that is not known
  integer,  ///< INTEGER and Integer32
  unsigned32,
  counter32,
  gauge32,
  time_ticks,
  counter64,
  octet_string,
  object_id,
  ip_address,  ///< also NetworkAddress of RFC 1155, which is nothing else
  bits,
  opaque,
  other,  ///< NULL and what no agent has had for decades
};

enum class MibAccess { none, not_accessible, notify, read_only, read_write, read_create, write_only };

enum class MibStatus { current, deprecated, obsolete };

struct MibIndex {
  std::string name;
  bool implied = false;
};

struct MibObject {
  std::string name;
  std::string module;
  Oid oid;
  MibType type = MibType::node;
  MibAccess access = MibAccess::none;
  MibStatus status = MibStatus::current;
  std::string convention;       ///< the textual convention that it names, or empty
  std::string hint;             ///< DISPLAY-HINT of that
  std::string units;            ///< UNITS
  std::string initial;          ///< DEFVAL as it is written: `3`, `off`, `"text"`; empty for none
  std::string description;      ///< DESCRIPTION, at most 4095 octets
  std::string augments;         ///< the entry that this one augments
  std::vector<MibIndex> index;  ///< of an entry
  std::vector<Range> ranges;    ///< of numbers, or of sizes
  std::vector<Label> labels;
};

/// What a unit says unasked: a NOTIFICATION-TYPE (RFC 2578 8), or a TRAP-TYPE (RFC 1215) as RFC 3584 2.1.2
/// makes one of it.
struct MibNotification {
  std::string name;
  std::string module;
  Oid oid;                           ///< snmpTrapOID
  std::string description;           ///< DESCRIPTION, at most 4095 octets
  std::vector<Oid> brings;           ///< the objects that it names
  std::vector<std::string> unknown;  ///< those of them that are defined nowhere
};

/// What is wrong with a file of MIB modules; `line` 0 where no line is known.
struct MibFault {
  std::string file;
  int line = 0;
  std::string text;
};

struct Mib {
  std::vector<std::string> modules;  ///< of the files, in their order
  std::vector<MibObject> objects;    ///< of these modules, each behind what it stands below
  /// Of these modules, by their identifiers, without those that are obsolete.
  std::vector<MibNotification> notifications;
  std::vector<MibObject> brought;  ///< objects of other modules that these bring
  std::vector<MibFault> faults;    ///< of the files: what they say has not been read whole
  std::vector<std::string> notes;  ///< of the modules that they import
};

}  // namespace vergeset::smi
