#include "change/work_order.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <set>

#include "records/kept_yaml.h"
#include "records/sealed.h"
#include "records/yaml_text.h"
#include "smi/words.h"

namespace vergeset::change {

namespace {

using records::text_at;

const char* kind_name(Step::Kind kind) {
  switch (kind) {
    case Step::Kind::go_standby:
      return "go to standby";
    case Step::Kind::go_operate:
      return "go to operate";
    case Step::Kind::set:
      break;
  }
  return "set";
}

const char* yes_no(bool yes) {
  return yes ? "yes" : "no";
}

void emit(YAML::Emitter& out, const records::Snapshot& snapshot) {
  out << YAML::BeginMap << YAML::Key << "on-air" << YAML::Value << yes_no(snapshot.on_air);
  out << YAML::Key << "values" << YAML::Value;
  records::emit(out, snapshot.values);
  out << YAML::Key << "rows" << YAML::Value;
  records::emit(out, snapshot.rows);
  out << YAML::EndMap;
}

void emit(YAML::Emitter& out, const Step& step) {
  out << YAML::BeginMap;
  out << YAML::Key << "step" << YAML::Value << kind_name(step.kind);
  out << YAML::Key << "about" << YAML::Value << step.about;
  out << YAML::Key << "in-standby" << YAML::Value << yes_no(step.standby);
  out << YAML::Key << "cuts-off" << YAML::Value << yes_no(step.cuts_off);
  out << YAML::Key << "set" << YAML::Value << YAML::BeginSeq;
  for (const Assignment& one : step.assignments) {
    out << YAML::Flow << YAML::BeginMap;
    out << YAML::Key << "object" << YAML::Value << one.name;
    out << YAML::Key << "words" << YAML::Value << YAML::DoubleQuoted << one.text;
    out << YAML::Key << "oid" << YAML::Value << one.oid.str();
    out << YAML::Key << "syntax" << YAML::Value << YAML::DoubleQuoted << one.syntax.str();
    out << YAML::Key << "type" << YAML::Value << std::string(smi::type_name(one.value.type));
    out << YAML::Key << "value" << YAML::Value << YAML::DoubleQuoted << smi::exact_text(one.value);
    out << YAML::EndMap;
  }
  out << YAML::EndSeq << YAML::EndMap;
}

void emit(YAML::Emitter& out, const OrderedUnit& unit) {
  out << YAML::BeginMap;
  out << YAML::Key << "model" << YAML::Value << unit.as_found.model;
  out << YAML::Key << "engine-id" << YAML::Value << YAML::DoubleQuoted << unit.as_found.engine_id;
  out << YAML::Key << "leaves-operate" << YAML::Value << yes_no(unit.sequence.leaves_operate);
  out << YAML::Key << "ends-off-air" << YAML::Value << yes_no(unit.sequence.ends_off_air);
  out << YAML::Key << "steps" << YAML::Value << YAML::BeginSeq;
  for (const Step& step : unit.sequence.steps) emit(out, step);
  out << YAML::EndSeq;
  out << YAML::Key << "as-found" << YAML::Value;
  emit(out, unit.as_found);
  out << YAML::Key << "desired" << YAML::Value;
  emit(out, unit.desired);
  out << YAML::EndMap;
}

Result<Assignment> assignment_from(const YAML::Node& node) {
  auto kept = records::kept_from(node);
  if (!kept) return Problem{kept.problem()};
  auto syntax = smi::Syntax::parse(text_at(node, "syntax"));
  if (!syntax) return Problem{fmt::format("object {}: {}", smi::shown(kept->name), syntax.problem())};
  return Assignment{kept->name, kept->oid, kept->value, *syntax, text_at(node, "words")};
}

Result<Step> step_from(const YAML::Node& node) {
  Step step;
  const std::string kind = text_at(node, "step");
  if (kind != "set" && kind != "go to standby" && kind != "go to operate") {
    return Problem{
        fmt::format("expected step `set`, `go to standby` or `go to operate`, found {}", smi::shown(kind))};
  }
  step.kind = kind == "set"             ? Step::Kind::set
              : kind == "go to standby" ? Step::Kind::go_standby
                                        : Step::Kind::go_operate;
  step.about = text_at(node, "about");
  step.standby = text_at(node, "in-standby") == "yes";
  step.cuts_off = text_at(node, "cuts-off") == "yes";
  for (const YAML::Node& one : node["set"]) {
    auto assignment = assignment_from(one);
    if (!assignment) return Problem{assignment.problem()};
    step.assignments.push_back(*std::move(assignment));
  }
  if (step.assignments.empty()) return Problem{"a step sets nothing"};
  return step;
}

Result<records::Snapshot> side_from(const YAML::Node& unit, const char* key, const std::string& name) {
  records::Snapshot snapshot;
  snapshot.unit = name;
  snapshot.model = text_at(unit, "model");
  snapshot.engine_id = text_at(unit, "engine-id");
  const YAML::Node side = unit[key];
  if (!side.IsDefined() || !side.IsMap())
    return Problem{fmt::format("unit {}: expected `{}:`", smi::shown(name), key)};
  const auto on_air = records::yes_no_at(side, "on-air");
  if (!on_air) return Problem{fmt::format("unit {}: {}", smi::shown(name), on_air.problem())};
  snapshot.on_air = *on_air;
  auto values = records::kept_list_from(side["values"]);
  if (!values) return Problem{values.problem()};
  auto rows = records::kept_rows_from(side["rows"]);
  if (!rows) return Problem{rows.problem()};
  snapshot.values = *std::move(values);
  snapshot.rows = *std::move(rows);
  return snapshot;
}

Result<OrderedUnit> unit_from(const std::string& name, const YAML::Node& node) {
  OrderedUnit unit;
  unit.unit = name;
  auto as_found = side_from(node, "as-found", name);
  if (!as_found) return Problem{as_found.problem()};
  auto desired = side_from(node, "desired", name);
  if (!desired) return Problem{desired.problem()};
  unit.as_found = *std::move(as_found);
  unit.desired = *std::move(desired);
  unit.sequence.leaves_operate = text_at(node, "leaves-operate") == "yes";
  unit.sequence.ends_off_air = text_at(node, "ends-off-air") == "yes";
  for (const YAML::Node& one : node["steps"]) {
    auto step = step_from(one);
    if (!step) return Problem{fmt::format("unit {}: {}", smi::shown(name), step.problem())};
    unit.sequence.steps.push_back(*std::move(step));
  }
  return unit;
}

Result<WorkOrder> order_from(const YAML::Node& node) {
  if (text_at(node, "work-order") != "1") return Problem{"expected `work-order: 1`"};
  WorkOrder order{
      text_at(node, "fleet"), text_at(node, "written"), text_at(node, "who"), text_at(node, "why"), {}, {}};
  std::set<std::string> names;
  for (const auto& pair : node["units"]) {
    const std::string& name = pair.first.Scalar();
    if (!names.insert(name).second)
      return Problem{fmt::format("unit {} stands there a second time", smi::shown(name))};
    auto unit = unit_from(name, pair.second);
    if (!unit) return Problem{unit.problem()};
    order.units.push_back(*std::move(unit));
  }
  for (const auto& pair : node["files"]) order.files.emplace_back(pair.first.Scalar(), pair.second.Scalar());
  return order;
}

/// A copy of a row with a difference removed.
void settle_row(records::KeptRow& row, const Difference& difference, const schema::Model& model) {
  if (difference.kind == Difference::Kind::remove_row) {
    row.present = false;
    row.columns.clear();
    return;
  }
  row.present = true;
  for (const Item& item : difference.items) {
    if (item.oid == row.status) continue;
    const auto same = [&](const records::Kept& kept) { return kept.oid == item.oid; };
    const auto kept = std::find_if(row.columns.begin(), row.columns.end(), same);
    if (kept != row.columns.end()) {
      kept->value = item.desired;
    } else {
      row.columns.push_back({model.name_of(item.oid), item.oid, item.desired});
    }
  }
  row.columns.erase(std::remove_if(row.columns.begin(), row.columns.end(),
                                   [&](const records::Kept& kept) { return kept.oid == row.status; }),
                    row.columns.end());
}

}  // namespace

records::Snapshot desired_snapshot(const records::Snapshot& as_found,
                                   const std::vector<Difference>& differences, const schema::Model& model) {
  records::Snapshot desired = as_found;
  for (const Difference& difference : differences) {
    if (difference.is_row()) {
      for (records::KeptRow& row : desired.rows) {
        const bool same = row.table == difference.row.table && row.index == difference.row.index;
        if (same) settle_row(row, difference, model);
      }
      continue;
    }
    const Item& item = difference.items.front();
    for (records::Kept& kept : desired.values) {
      if (kept.oid == item.oid) kept.value = item.desired;
    }
    const bool mode = model.mode && item.oid == model.mode->asked->oid.child(0);
    if (mode) desired.on_air = item.desired.number == model.mode->operate;
  }
  return desired;
}

std::string to_yaml(const WorkOrder& order) {
  YAML::Emitter out;
  out << YAML::Comment(
             "A work order: read it, approve it, then carry it out with: vergeset apply --order FILE")
      << YAML::Newline
      << YAML::Comment(
             "Do not edit it: what is carried out must be what was reviewed. Change the fleet and write a "
             "new one.");
  out << YAML::BeginMap;
  out << YAML::Key << "work-order" << YAML::Value << 1;
  out << YAML::Key << "fleet" << YAML::Value << order.fleet;
  out << YAML::Key << "written" << YAML::Value << order.written;
  out << YAML::Key << "who" << YAML::Value << order.who;
  out << YAML::Key << "why" << YAML::Value << order.why;
  out << YAML::Key << "units" << YAML::Value << YAML::BeginMap;
  for (const OrderedUnit& unit : order.units) {
    out << YAML::Key << unit.unit << YAML::Value;
    emit(out, unit);
  }
  out << YAML::EndMap;
  out << YAML::Key << "files" << YAML::Value << YAML::BeginMap;
  for (const auto& [path, digest] : order.files) out << YAML::Key << path << YAML::Value << digest;
  out << YAML::EndMap << YAML::EndMap;
  return records::sealed(std::string(out.c_str()) + "\n");
}

Result<WorkOrder> order_from_yaml(const std::string& text) {
  const auto body = records::unsealed(text);
  if (!body) return Problem{fmt::format("{}; write a new one with --write", body.problem())};
  auto read = records::from_record<WorkOrder>(*body, order_from);
  if (!read) return read;
  WorkOrder order = *std::move(read);
  order.digest = records::seal_of(text);
  return order;
}

}  // namespace vergeset::change
