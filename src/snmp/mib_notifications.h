#pragma once

#include <map>
#include <string>
#include <vector>

#include "smi/mib.h"
#include "snmp/library.h"

namespace vergeset::snmp {

constexpr std::size_t most_mib_arcs = 128;  // RFC 2578 3.5

/// The modules that the files hold, by the parser's number of each.
using NumberedModules = std::map<int, std::string>;

/// A notification in the parser's tree, where it stands there, and the number of its module.
struct MibStanding {
  const tree* node;
  smi::Oid oid;
  int module;
};

/// A node of the parser's tree (`mib_tree.cpp`).
smi::MibObject mib_object(const tree& node, const smi::Oid& oid, const std::string& module);

/// A TRAP-TYPE (RFC 1215). The parser puts a node "ENTERPRISE#" with the number 0 between it and its
/// ENTERPRISE, gives that one the type, and the trap none.
bool is_trap(const tree& node);

/// Makes `notifications` and `brought` of a Mib whose objects stand. Names of objects are looked for in the
/// notification's own module, then where that imports them from (RFC 2578 3.2). `files` are read once more,
/// for what the parser does not keep.
void take_notifications(const std::vector<MibStanding>& found, const NumberedModules& modules,
                        const std::vector<std::string>& files, smi::Mib& mib);

}  // namespace vergeset::snmp
