#include "records/snapshot.h"

#include <fmt/format.h>

#include <cstdlib>

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

std::string to_yaml(const Snapshot& snapshot) {
  YAML::Emitter out;
  out << YAML::BeginMap;
  out << YAML::Key << "unit" << YAML::Value << snapshot.unit;
  out << YAML::Key << "model" << YAML::Value << snapshot.model;
  out << YAML::Key << "taken" << YAML::Value << snapshot.taken;
  out << YAML::Key << "engine-id" << YAML::Value << YAML::DoubleQuoted << snapshot.engine_id;
  out << YAML::Key << "on-air" << YAML::Value << (snapshot.on_air ? "yes" : "no");
  out << YAML::Key << "values" << YAML::Value;
  emit(out, snapshot.values);
  out << YAML::Key << "rows" << YAML::Value;
  emit(out, snapshot.rows);
  out << YAML::EndMap;
  return std::string(out.c_str()) + "\n";
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
