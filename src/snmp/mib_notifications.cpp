#include "snmp/mib_notifications.h"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <limits>
#include <optional>
#include <set>

#include "snmp/mib_obsolete.h"

namespace vergeset::snmp {

namespace {

std::string mib_text(const char* text) {
  return text != nullptr ? text : "";
}

/// A TRAP-TYPE stands below its ENTERPRISE and a zero; those whose ENTERPRISE is snmp (RFC 1213) are the
/// generic traps, and have identifiers of their own (RFC 3584 2.1.2 and 3.1).
smi::Oid told_oid(const MibStanding& standing) {
  static const smi::Oid generic{1, 3, 6, 1, 2, 1, 11, 0};
  static const smi::Oid traps{1, 3, 6, 1, 6, 3, 1, 1, 5};
  constexpr std::uint32_t last_generic = 5;  // egpNeighborLoss
  const bool is_generic =
      is_trap(*standing.node) && standing.oid.parent() == generic && standing.oid.back() <= last_generic;
  return is_generic ? traps.child(standing.oid.back() + 1) : standing.oid;
}

/// Where a node stands, by what stands above it.
std::optional<smi::Oid> mib_oid(const tree* node) {
  std::vector<std::uint32_t> arcs;
  for (; node != nullptr; node = node->parent) {
    if (arcs.size() == most_mib_arcs || node->subid > std::numeric_limits<std::uint32_t>::max())
      return std::nullopt;
    arcs.push_back(static_cast<std::uint32_t>(node->subid));
  }
  std::ranges::reverse(arcs);
  return smi::Oid(arcs);
}

/// Finds the objects that notifications name, each name of a module once.
class NamedObjects {
 public:
  NamedObjects(const NumberedModules& modules, smi::Mib& mib) : modules_(modules), mib_(mib) {}

  /// Nothing where no object has the name.
  std::optional<smi::Oid> object(const std::string& name, int module) {
    const auto [at, fresh] = known_.try_emplace({module, name});
    if (fresh) at->second = find(name, module);
    return at->second;
  }

 private:
  std::optional<smi::Oid> find(const std::string& name, int module) {
    const tree* node = find_tree_node(name.c_str(), module);
    if (node == nullptr) {
      module = home_of(name, module);
      if (module >= 0) node = find_tree_node(name.c_str(), module);
    }
    if (node == nullptr) return std::nullopt;
    auto oid = mib_oid(node);
    if (oid && modules_.count(module) == 0 && brought_.insert(*oid).second) {
      const struct module* const home = find_module(module);
      const char* const label = home != nullptr ? home->name : nullptr;
      mib_.brought.push_back(mib_object(*node, *oid, label != nullptr ? label : ""));
    }
    return oid;
  }

  /// The number of the module that a name is imported from; negative where it is not.
  int home_of(const std::string& name, int module) {
    const auto [at, fresh] = imports_.try_emplace(module);
    const struct module* const one = fresh ? find_module(module) : nullptr;
    for (int i = 0; one != nullptr && i < one->no_imports; ++i) {
      if (one->imports[i].label != nullptr) at->second[one->imports[i].label] = one->imports[i].modid;
    }
    const auto home = at->second.find(name);
    return home == at->second.end() ? -1 : home->second;
  }

  const NumberedModules& modules_;
  smi::Mib& mib_;
  std::map<std::pair<int, std::string>, std::optional<smi::Oid>> known_;
  std::map<int, std::map<std::string, int>> imports_;
  std::set<smi::Oid> brought_;
};

std::set<MibName> obsolete_in(const std::vector<std::string>& files) {
  std::set<MibName> obsolete;
  for (const std::string& path : files) {
    std::ifstream file(path, std::ios::binary);
    const std::string text(std::istreambuf_iterator<char>(file), {});
    obsolete.merge(obsolete_notifications(text));
  }
  return obsolete;
}

}  // namespace

bool is_trap(const tree& node) {
  const std::string above = node.parent != nullptr ? mib_text(node.parent->label) : "";
  return node.parent != nullptr && node.parent->subid == 0 && above.ends_with('#');
}

void take_notifications(const std::vector<MibStanding>& found, const NumberedModules& modules,
                        const std::vector<std::string>& files, smi::Mib& mib) {
  if (found.empty()) return;
  const std::set<MibName> obsolete = obsolete_in(files);
  NamedObjects objects(modules, mib);
  for (const MibStanding& standing : found) {
    const tree& node = *standing.node;
    smi::MibNotification one;
    one.name = mib_text(node.label);
    one.module = modules.at(standing.module);
    if (obsolete.count({one.module, one.name}) != 0) continue;
    one.oid = told_oid(standing);
    one.description = mib_text(node.description);
    for (const varbind_list* at = node.varbinds; at != nullptr; at = at->next) {
      const std::string name = mib_text(at->vblabel);
      if (const auto oid = objects.object(name, standing.module)) {
        one.brings.push_back(*oid);
      } else {
        one.unknown.push_back(name);
      }
    }
    mib.notifications.push_back(std::move(one));
  }
}

}  // namespace vergeset::snmp
