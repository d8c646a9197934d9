#include "records/snapshot.h"

#include <fmt/format.h>

#include <cstdlib>
#include <iterator>

#include "records/kept_yaml.h"
#include "records/yaml_text.h"

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
  const auto oid = smi::Oid::parse(text_at(node, "oid"));
  if (!oid) return Problem{fmt::format("object {}: {}", name, oid.problem())};
  const auto type = smi::type_named(text_at(node, "type"));
  if (!type) return Problem{fmt::format("object {}: {}", name, type.problem())};
  const auto value = smi::from_exact_text(*type, text_at(node, "value"));
  if (!value) return Problem{fmt::format("object {}: {}", name, value.problem())};
  return Kept{name, *oid, *value};
}

Result<std::vector<Kept>> kept_list_from(const YAML::Node& list) {
  std::vector<Kept> all;
  for (const YAML::Node& node : list) {
    auto kept = kept_from(node);
    if (!kept) return Problem{kept.problem()};
    all.push_back(*std::move(kept));
  }
  return all;
}

Result<std::vector<KeptRow>> kept_rows_from(const YAML::Node& list) {
  std::vector<KeptRow> rows;
  for (const YAML::Node& node : list) {
    KeptRow row;
    row.table = text_at(node, "table");
    row.index = static_cast<std::uint32_t>(std::strtoul(text_at(node, "row").c_str(), nullptr, 10));
    row.present = text_at(node, "present") == "yes";
    if (const std::string status = text_at(node, "status-oid"); !status.empty()) {
      auto oid = smi::Oid::parse(status);
      if (!oid) return Problem{fmt::format("table {} row {}: {}", row.table, row.index, oid.problem())};
      row.status = *oid;
    }
    auto columns = kept_list_from(node["columns"]);
    if (!columns) return Problem{columns.problem()};
    row.columns = *std::move(columns);
    rows.push_back(std::move(row));
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
    fmt::format_to(std::back_inserter(out), "{}- {{object: {}, oid: {}, type: {}, value: \"{}\"}}\n", indent,
                   scalar(kept.name), kept.oid.str(), scalar(std::string(smi::type_name(kept.value.type))),
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
    fmt::format_to(std::back_inserter(out),
                   "  - table: {}\n    row: {}\n    status-oid: {}\n    present: {}\n    columns:",
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
  snapshot.on_air = text_at(node, "on-air") == "yes";
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
