#include "schema/model_text_parts.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

namespace vergeset::schema {

namespace {

using smi::MibObject;
using smi::MibType;

/// A table while its columns are gathered.
struct Gathered {
  const MibObject* table = nullptr;
  const MibObject* entry = nullptr;
  std::vector<const MibObject*> columns;
};

bool is_entry(const MibObject& object) {
  return !object.index.empty() || !object.augments.empty();
}

/// RFC 3418: these are part of each model (schemas/system.yaml).
const std::map<std::string, smi::Oid>& system_group() {
  static const std::map<std::string, smi::Oid> group{
      {"sysDescr", {1, 3, 6, 1, 2, 1, 1, 1}},    {"sysObjectID", {1, 3, 6, 1, 2, 1, 1, 2}},
      {"sysUpTime", {1, 3, 6, 1, 2, 1, 1, 3}},   {"sysContact", {1, 3, 6, 1, 2, 1, 1, 4}},
      {"sysName", {1, 3, 6, 1, 2, 1, 1, 5}},     {"sysLocation", {1, 3, 6, 1, 2, 1, 1, 6}},
      {"sysServices", {1, 3, 6, 1, 2, 1, 1, 7}}, {"snmpSetSerialNo", {1, 3, 6, 1, 6, 3, 1, 1, 6, 1}}};
  return group;
}

/// Why a name or an identifier cannot stand in a model once more; empty where it can.
class Standing {
 public:
  Standing() {
    for (const auto& [name, oid] : system_group()) enter(name, oid);
  }
  std::string why_not(const MibObject& object) const {
    const auto known = system_group().find(object.name);
    if (known != system_group().end() && known->second == object.oid)
      return "it is part of each model anyway";
    if (const auto at = names_.find(object.name); at != names_.end())
      return fmt::format("{} has this name already", at->second.str());
    if (const auto at = oids_.find(object.oid); at != oids_.end())
      return fmt::format("{} has this object identifier already", at->second);
    return {};
  }
  void enter(const std::string& name, const smi::Oid& oid) {
    names_[name] = oid;
    oids_[oid] = name;
  }

 private:
  std::map<std::string, smi::Oid> names_;
  std::map<smi::Oid, std::string> oids_;
};

/// Why a model cannot hold a table; empty where it can.
std::string why_no_table(const Gathered& table) {
  const MibObject& entry = *table.entry;
  if (table.table == nullptr) return "no table stands above it";
  if (!entry.augments.empty())
    return fmt::format("its rows are those of {} (AUGMENTS); a table of a model has its index itself",
                       entry.augments);
  if (entry.oid != table.table->oid.child(1)) return "its entry is not number 1 below it";
  if (entry.index.size() != 1) {
    std::string names;
    for (const smi::MibIndex& index : entry.index) names += (names.empty() ? "" : ", ") + index.name;
    return fmt::format("it has {} indexes ({}); a table of a model has one", entry.index.size(), names);
  }
  for (const MibObject* column : table.columns) {
    if (column->name == entry.index.front().name) return {};
  }
  return fmt::format("its index {} is no column of it", entry.index.front().name);
}

class PartsMaker {
 public:
  PartsMaker(const smi::Mib& mib, const smi::Oid& root) {
    for (const MibObject& object : mib.objects) {
      if (object.type == MibType::node || !object.oid.within(root)) continue;
      objects_.push_back(&object);
      by_oid_.try_emplace(object.oid, &object);
      if (is_entry(object)) tables_[object.oid].entry = &object;
    }
  }

  ModelParts parts() {
    for (const MibObject* object : objects_) sort(*object);
    for (auto& [oid, table] : tables_) take_table(table);
    std::ranges::sort(parts_.left_out, {}, &LeftOut::oid);
    return std::move(parts_);
  }

 private:
  void leave_out(const MibObject& object, const std::string& why) {
    parts_.left_out.push_back({object.name, object.oid, why});
  }

  void sort(const MibObject& object) {
    const smi::Oid above = object.oid.parent();
    if (is_entry(object)) {
      const auto table = by_oid_.find(above);
      if (table != by_oid_.end()) tables_[object.oid].table = table->second;
    } else if (const auto table = tables_.find(above); table != tables_.end()) {
      table->second.columns.push_back(&object);
    } else if (object.type == MibType::rows) {
      sort_rows(object);
    } else if (const auto rows = by_oid_.find(above); rows != by_oid_.end()) {
      leave_out(object, rows->second->name + " above it has no INDEX");
    } else {
      take_scalar(object);
    }
  }

  /// What has no type of its own: a table, what should be one, or an object of a type that is not known.
  void sort_rows(const MibObject& object) {
    const auto below = by_oid_.upper_bound(object.oid);
    const bool holds = below != by_oid_.end() && below->first.within(object.oid);
    if (!holds) {
      leave_out(object, text_syntax(object).problem());
    } else if (tables_.count(below->first) == 0) {
      leave_out(object, "no INDEX says what its rows are numbered by");
    }
  }

  void take_scalar(const MibObject& object) {
    std::string why = standing_.why_not(object);
    auto syntax = text_syntax(object);
    if (why.empty() && !syntax) why = syntax.problem();
    if (!why.empty()) return leave_out(object, why);
    standing_.enter(object.name, object.oid);
    parts_.scalars.push_back({&object, *std::move(syntax)});
  }

  void take_table(const Gathered& gathered) {
    const MibObject& named = gathered.table != nullptr ? *gathered.table : *gathered.entry;
    std::string why = why_no_table(gathered);
    if (why.empty()) why = standing_.why_not(named);
    if (!why.empty()) return leave_out(named, why);
    PartTable table{&named, gathered.entry->index.front().name, "", {}};
    Columns columns;
    columns.names.insert(named.name);
    std::vector<LeftOut> columns_left;
    for (const MibObject* column : gathered.columns) {
      const bool is_index = column->name == table.index;
      auto syntax = is_index ? text_index_syntax(*column) : text_syntax(*column);
      why = why_no_column(*column, columns);
      if (why.empty() && !syntax) why = syntax.problem();
      if (!why.empty() && is_index)
        return leave_out(named, fmt::format("its index {}: {}", column->name, why));
      if (!why.empty()) {
        columns_left.push_back({column->name, column->oid, why});
        continue;
      }
      columns.names.insert(column->name);
      columns.oids.insert(column->oid);
      if (syntax->syntax.form == smi::Form::row_status && table.status.empty()) table.status = column->name;
      table.columns.push_back({column, *std::move(syntax)});
    }
    enter(table);
    parts_.left_out.insert(parts_.left_out.end(), columns_left.begin(), columns_left.end());
    parts_.tables.push_back(std::move(table));
  }

  /// What a table that is being taken has already.
  struct Columns {
    std::set<std::string> names;
    std::set<smi::Oid> oids;
  };

  std::string why_no_column(const MibObject& column, const Columns& taken) const {
    if (column.oid.back() == 0) return "a column is numbered from 1 on";
    if (taken.names.count(column.name) != 0) return "its name stands twice";
    if (taken.oids.count(column.oid) != 0) return "its number stands twice";
    return standing_.why_not(column);
  }

  void enter(const PartTable& table) {
    standing_.enter(table.table->name, table.table->oid);
    for (const PartObject& column : table.columns) standing_.enter(column.object->name, column.object->oid);
  }

  std::vector<const MibObject*> objects_;
  std::map<smi::Oid, const MibObject*> by_oid_;
  std::map<smi::Oid, Gathered> tables_;  ///< by the identifier of the entry
  Standing standing_;
  ModelParts parts_;
};

}  // namespace

std::size_t ModelParts::columns() const {
  std::size_t count = 0;
  for (const PartTable& table : tables) count += table.columns.size();
  return count;
}

std::set<smi::Oid> system_objects() {
  std::set<smi::Oid> oids;
  for (const auto& [name, oid] : system_group()) oids.insert(oid);
  return oids;
}

std::map<smi::Oid, std::string> system_notifications() {
  const smi::Oid traps{1, 3, 6, 1, 6, 3, 1, 1, 5};
  std::map<smi::Oid, std::string> notifications;
  for (const char* name :
       {"coldStart", "warmStart", "linkDown", "linkUp", "authenticationFailure", "egpNeighborLoss"})
    notifications[traps.child(static_cast<std::uint32_t>(notifications.size() + 1))] = name;
  return notifications;
}

ModelParts model_parts(const smi::Mib& mib, const smi::Oid& root) {
  return PartsMaker(mib, root).parts();
}

}  // namespace vergeset::schema
