#include "records/snapshot.h"

#include <fmt/format.h>

#include <limits>

#include "records/kept_yaml.h"
#include "records/yaml_text.h"
#include "smi/words.h"

namespace vergeset::records {

void emit(YAML::Emitter& out, const Kept& kept) {
  out << YAML::Flow << YAML::BeginMap;
  out << YAML::Key << "object" << YAML::Value << kept.name;
  out << YAML::Key << "oid" << YAML::Value << kept.oid.str();
  out << YAML::Key << "type" << YAML::Value << std::string(smi::type_name(kept.value.type));
  out << YAML::Key << "value" << YAML::Value << YAML::DoubleQuoted << smi::exact_text(kept.value);
  out << YAML::EndMap;
}

void emit(YAML::Emitter& out, const std::vector<Kept>& list) {
  out << YAML::BeginSeq;
  for (const Kept& kept : list) emit(out, kept);
  out << YAML::EndSeq;
}

void emit(YAML::Emitter& out, const std::vector<KeptRow>& rows) {
  out << YAML::BeginSeq;
  for (const KeptRow& row : rows) {
    out << YAML::BeginMap;
    out << YAML::Key << "table" << YAML::Value << row.table;
    out << YAML::Key << "row" << YAML::Value << row.index;
    out << YAML::Key << "status-oid" << YAML::Value << row.status.str();
    out << YAML::Key << "present" << YAML::Value << (row.present ? "yes" : "no");
    out << YAML::Key << "columns" << YAML::Value;
    emit(out, row.columns);
    out << YAML::EndMap;
  }
  out << YAML::EndSeq;
}

Result<Kept> kept_from(const YAML::Node& node) {
  const std::string name = text_at(node, "object");
  const std::string shown = smi::shown(name);
  const auto oid = smi::Oid::parse(text_at(node, "oid"));
  if (!oid) return Problem{fmt::format("object {}: {}", shown, oid.problem())};
  const auto type = smi::type_named(text_at(node, "type"));
  if (!type) return Problem{fmt::format("object {}: {}", shown, type.problem())};
  const auto value = smi::from_exact_text(*type, text_at(node, "value"));
  if (!value) return Problem{fmt::format("object {}: {}", shown, value.problem())};
  return Kept{name, *oid, *value};
}

Result<bool> yes_no_at(const YAML::Node& map, const char* key) {
  const std::string text = text_at(map, key);
  if (text == "yes" || text == "no") return text == "yes";
  return Problem{fmt::format("expected `{}:` with yes or no, found {}", key, smi::shown(text))};
}

Result<std::vector<Kept>> kept_list_from(const YAML::Node& list) {
  if (!list.IsDefined() || !list.IsSequence()) return Problem{"expected a list of objects, found none"};
  std::vector<Kept> all;
  for (const YAML::Node& node : list) {
    auto kept = kept_from(node);
    if (!kept) return Problem{kept.problem()};
    all.push_back(*std::move(kept));
  }
  return all;
}

namespace {

/// A row that is not as it was written would be made or removed in the place of another.
Result<KeptRow> kept_row_from(const YAML::Node& node) {
  KeptRow row;
  row.table = text_at(node, "table");
  const auto index = smi::unsigned_number(text_at(node, "row"));
  if (!index || *index > std::numeric_limits<std::uint32_t>::max())
    return Problem{fmt::format("expected `row:` with its index, found {}", smi::shown(text_at(node, "row")))};
  row.index = static_cast<std::uint32_t>(*index);
  const auto present = yes_no_at(node, "present");
  if (!present) return Problem{present.problem()};
  row.present = *present;
  if (const std::string status = text_at(node, "status-oid"); !status.empty()) {
    auto oid = smi::Oid::parse(status);
    if (!oid) return Problem{fmt::format("row {}: {}", row.index, oid.problem())};
    row.status = *oid;
  }
  auto columns = kept_list_from(node["columns"]);
  if (!columns) return Problem{fmt::format("row {}: {}", row.index, columns.problem())};
  row.columns = *std::move(columns);
  return row;
}

}  // namespace

Result<std::vector<KeptRow>> kept_rows_from(const YAML::Node& list) {
  if (!list.IsDefined() || !list.IsSequence()) return Problem{"expected a list of rows, found none"};
  std::vector<KeptRow> rows;
  for (const YAML::Node& node : list) {
    auto row = kept_row_from(node);
    if (!row) return Problem{fmt::format("table {}: {}", smi::shown(text_at(node, "table")), row.problem())};
    rows.push_back(*std::move(row));
  }
  return rows;
}

namespace {

void add_text(std::string& out, std::string_view indent, const std::vector<Kept>& list) {
  if (list.empty()) {
    out += " []\n";
    return;
  }
  out += '\n';
  for (const Kept& kept : list) {
    out += fmt::format("{}- {{object: {}, oid: {}, type: {}, value: \"{}\"}}\n", indent, scalar(kept.name),
                       kept.oid.str(), scalar(std::string(smi::type_name(kept.value.type))),
                       smi::exact_text(kept.value));
  }
}

}  // namespace

// By hand, since a change of a thousand units writes two thousand of them, and yaml-cpp took a millisecond
// for each to find out by regular expressions which texts need quotes.
std::string to_yaml(const Snapshot& snapshot) {
  std::string out = fmt::format(
      "unit: {}\nmodel: {}\ntaken: {}\nengine-id: \"{}\"\non-air: {}\nvalues:", scalar(snapshot.unit),
      scalar(snapshot.model), scalar(snapshot.taken), snapshot.engine_id, snapshot.on_air ? "yes" : "no");
  add_text(out, "  ", snapshot.values);
  out += "rows:";
  if (snapshot.rows.empty()) out += " []";
  out += '\n';
  for (const KeptRow& row : snapshot.rows) {
    out += fmt::format("  - table: {}\n    row: {}\n    status-oid: {}\n    present: {}\n    columns:",
                       scalar(row.table), row.index, scalar(row.status.str()), row.present ? "yes" : "no");
    add_text(out, "      ", row.columns);
  }
  return out;
}

namespace {

Result<Snapshot> snapshot_from(const YAML::Node& node) {
  Snapshot snapshot;
  snapshot.unit = text_at(node, "unit");
  snapshot.model = text_at(node, "model");
  snapshot.taken = text_at(node, "taken");
  snapshot.engine_id = text_at(node, "engine-id");
  // The first snapshots did not say: what they restore is the mode that was asked for, which they hold.
  if (node["on-air"].IsDefined()) {
    const auto on_air = yes_no_at(node, "on-air");
    if (!on_air) return Problem{on_air.problem()};
    snapshot.on_air = *on_air;
  }
  auto values = kept_list_from(node["values"]);
  if (!values) return Problem{values.problem()};
  snapshot.values = *std::move(values);
  auto rows = kept_rows_from(node["rows"]);
  if (!rows) return Problem{rows.problem()};
  snapshot.rows = *std::move(rows);
  return snapshot;
}

}  // namespace

Result<Snapshot> snapshot_from_yaml(const std::string& text) {
  return from_record<Snapshot>(text, snapshot_from);
}

}  // namespace vergeset::records
