#include "snmp/mib_tree.h"

#include <algorithm>
#include <limits>

#include "snmp/library.h"
#include "snmp/mib_log.h"
#include "snmp/mib_notifications.h"

namespace vergeset::snmp {

namespace {

int keep_mib_line(int, int, void* message, void* log) {
  const auto* line = static_cast<const snmp_log_message*>(message);
  static_cast<MibLog*>(log)->add(line->msg != nullptr ? line->msg : "");
  return SNMPERR_SUCCESS;
}

void log_into(MibLog& log) {
  netsnmp_register_loghandler(NETSNMP_LOGHANDLER_CALLBACK, LOG_DEBUG);
  snmp_register_callback(SNMP_CALLBACK_LIBRARY, SNMP_CALLBACK_LOGGING, keep_mib_line, &log);
}

void set_parser_options() {
  netsnmp_ds_set_boolean(NETSNMP_DS_LIBRARY_ID, NETSNMP_DS_LIB_MIB_ERRORS, 1);
  netsnmp_ds_set_int(NETSNMP_DS_LIBRARY_ID, NETSNMP_DS_LIB_MIB_WARNINGS, 0);
  netsnmp_ds_set_boolean(NETSNMP_DS_LIBRARY_ID, NETSNMP_DS_LIB_SAVE_MIB_DESCRS, 1);
  // Makers' MIBs have names with underscores (RFC 2578 3.1 forbids them).
  netsnmp_ds_set_boolean(NETSNMP_DS_LIBRARY_ID, NETSNMP_DS_LIB_MIB_PARSE_LABEL, 1);
}

std::string text_of(const char* text) {
  return text != nullptr ? text : "";
}

smi::MibType type_of(const tree& node) {
  using smi::MibType;
  switch (node.type) {
    case TYPE_OBJID:
      return MibType::object_id;
    case TYPE_OCTETSTR:
    case TYPE_NSAPADDRESS:
      return MibType::octet_string;
    case TYPE_INTEGER:
    case TYPE_INTEGER32:
      return MibType::integer;
    case TYPE_NETADDR:
    case TYPE_IPADDR:
      return MibType::ip_address;
    case TYPE_COUNTER:
      return MibType::counter32;
    case TYPE_GAUGE:
      return MibType::gauge32;
    case TYPE_UINTEGER:
    case TYPE_UNSIGNED32:
      return MibType::unsigned32;
    case TYPE_TIMETICKS:
      return MibType::time_ticks;
    case TYPE_COUNTER64:
      return MibType::counter64;
    case TYPE_BITSTRING:
      return MibType::bits;
    case TYPE_OPAQUE:
      return MibType::opaque;
    case TYPE_OTHER:
      return node.access == 0 ? MibType::node : MibType::rows;
    default:
      return node.type <= TYPE_SIMPLE_LAST ? MibType::other : MibType::node;
  }
}

smi::MibAccess access_of(const tree& node) {
  using smi::MibAccess;
  switch (node.access) {
    case MIB_ACCESS_READONLY:
      return MibAccess::read_only;
    case MIB_ACCESS_READWRITE:
      return MibAccess::read_write;
    case MIB_ACCESS_WRITEONLY:
      return MibAccess::write_only;
    case MIB_ACCESS_NOACCESS:
      return MibAccess::not_accessible;
    case MIB_ACCESS_NOTIFY:
      return MibAccess::notify;
    case MIB_ACCESS_CREATE:
      return MibAccess::read_create;
    default:
      return MibAccess::none;
  }
}

smi::MibStatus status_of(const tree& node) {
  if (node.status == MIB_STATUS_DEPRECATED) return smi::MibStatus::deprecated;
  if (node.status == MIB_STATUS_OBSOLETE) return smi::MibStatus::obsolete;
  return smi::MibStatus::current;
}

/// The parser holds each end of a range in an int, whatever the type.
std::int64_t range_end(smi::MibType type, int end) {
  const bool is_signed = type == smi::MibType::integer;
  return is_signed ? std::int64_t{end} : std::int64_t{static_cast<std::uint32_t>(end)};
}

void take_lists(const tree& node, smi::MibObject& object) {
  for (const range_list* at = node.ranges; at != nullptr; at = at->next) {
    object.ranges.push_back({range_end(object.type, at->low), range_end(object.type, at->high)});
  }
  for (const enum_list* at = node.enums; at != nullptr; at = at->next) {
    object.labels.push_back({text_of(at->label), at->value});
  }
  for (const index_list* at = node.indexes; at != nullptr; at = at->next) {
    object.index.push_back({text_of(at->ilabel), at->isimplied != 0});
  }
}

}  // namespace

smi::MibObject mib_object(const tree& node, const smi::Oid& oid, const std::string& module) {
  smi::MibObject object;
  object.name = text_of(node.label);
  object.module = module;
  object.oid = oid;
  object.type = type_of(node);
  object.access = access_of(node);
  object.status = status_of(node);
  object.convention = text_of(get_tc_descriptor(node.tc_index));
  object.hint = text_of(node.hint);
  object.units = text_of(node.units);
  object.initial = text_of(node.defaultValue);
  object.description = text_of(node.description);
  object.augments = text_of(node.augments);
  take_lists(node, object);
  return object;
}

namespace {

NumberedModules modules_of(const std::vector<std::string>& files, smi::Mib& mib) {
  NumberedModules modules;
  for (const std::string& file : files) {
    const std::size_t before = modules.size();
    // Numbers are given from 0 on, without a gap.
    for (int number = 0;; ++number) {
      const module* const one = find_module(number);
      if (one == nullptr) break;
      if (file != text_of(one->file)) continue;
      modules[number] = text_of(one->name);
      mib.modules.push_back(text_of(one->name));
    }
    if (modules.size() == before) {
      mib.faults.push_back({file, 0, "no MIB module begins here that no other of the files has as well"});
    }
  }
  return modules;
}

/// The one of the files' modules that a node is of; the end where it is of another.
NumberedModules::const_iterator module_of(const tree& node, const NumberedModules& modules) {
  for (int at = 0; at < node.number_modules; ++at) {
    const auto found = modules.find(node.module_list[at]);
    if (found != modules.end()) return found;
  }
  return modules.end();
}

/// The nodes of one level by their numbers: the parser hangs each new one in front.
std::vector<const tree*> level_of(const tree* first) {
  std::vector<const tree*> level;
  for (const tree* node = first; node != nullptr; node = node->next_peer) level.push_back(node);
  std::stable_sort(level.begin(), level.end(),
                   [](const tree* a, const tree* b) { return a->subid < b->subid; });
  return level;
}

struct Standing {
  const tree* node;
  smi::Oid above;
};

/// The notifications come back: what they bring is known when all objects are.
std::vector<MibStanding> take_objects(const NumberedModules& modules, smi::Mib& mib) {
  std::vector<MibStanding> notifications;
  std::vector<Standing> waiting;
  const auto wait_for = [&](const tree* first, const smi::Oid& above) {
    const std::vector<const tree*> level = level_of(first);
    for (auto at = level.rbegin(); at != level.rend(); ++at) waiting.push_back({*at, above});
  };
  wait_for(get_tree_head(), {});
  while (!waiting.empty()) {
    const Standing standing = waiting.back();
    waiting.pop_back();
    const tree& node = *standing.node;
    if (standing.above.size() == most_mib_arcs || node.subid > std::numeric_limits<std::uint32_t>::max())
      continue;
    const smi::Oid oid = standing.above.child(static_cast<std::uint32_t>(node.subid));
    if (const auto module = module_of(node, modules); module != modules.end()) {
      mib.objects.push_back(mib_object(node, oid, module->second));
      if (node.type == TYPE_NOTIFTYPE || is_trap(node)) notifications.push_back({&node, oid, module->first});
    }
    wait_for(node.child_list, oid);
  }
  return notifications;
}

}  // namespace

smi::Mib read_mib_here(const std::vector<std::string>& files, const std::vector<std::string>& imports) {
  smi::Mib mib;
  MibLog log;
  start_library();
  netsnmp_init_mib_internals();
  // The parser takes the file that it was told of last for a module. What is no MIB it passes over.
  for (const std::string& path : imports) add_mibfile(path.c_str(), nullptr);
  for (const std::string& path : files) add_mibfile(path.c_str(), nullptr);
  log_into(log);
  set_parser_options();
  for (const std::string& path : files) read_mib(path.c_str());
  adopt_orphans();
  const NumberedModules modules = modules_of(files, mib);
  take_notifications(take_objects(modules, mib), modules, files, mib);
  log.tell(files, mib);
  return mib;
}

}  // namespace vergeset::snmp
