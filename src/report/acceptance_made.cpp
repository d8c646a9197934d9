#include "report/acceptance_made.h"

#include <fmt/format.h>

#include <algorithm>

#include "checks/before_power.h"
#include "checks/site.h"
#include "fleet/site.h"
#include "records/change_record.h"
#include "report/comparison_text.h"

namespace vergeset::report {

namespace {

using checks::PoleCheck;
using records::Commissioning;
using records::StageDone;

constexpr const char* not_asked = "not asked";

std::string recorded_text(const fleet::Site& site, const std::string& field) {
  return fleet::site_text(site, field).value_or("");
}

std::vector<Acceptance::Field> site_of(const fleet::Unit& unit, const Commissioning& record) {
  const fleet::Unit measured = as_measured(unit, record);
  std::vector<Acceptance::Field> fields;
  for (const auto& [name, meaning] : fleet::site_fields()) {
    const std::string text = recorded_text(unit.site, name);
    const std::string found = recorded_text(measured.site, name);
    if (text.empty() && found.empty()) continue;
    fields.push_back({name, text, found == text ? "" : found});
  }
  return fields;
}

std::vector<Acceptance::Check> checks_of(const fleet::Unit& unit, const Commissioning& record) {
  const fleet::Unit measured = as_measured(unit, record);
  std::vector<Acceptance::Check> all;
  for (const PoleCheck& check : checks::pole_checks()) {
    const records::PoleAnswer* answer = record.answer(std::string(check.name));
    if (answer == nullptr) {
      all.push_back({std::string(check.states), not_asked, "", "", ""});
      continue;
    }
    const bool value = !check.field.empty() && answer->answer != not_asked;
    const std::string text = value ? recorded_text(measured.site, std::string(check.field)) : answer->answer;
    all.push_back({std::string(check.states), text, answer->note, answer->who, answer->at});
  }
  return all;
}

std::vector<Acceptance::Stage> stages_of(const Commissioning& record) {
  std::vector<Acceptance::Stage> all;
  for (const StageName& stage : stage_names()) {
    const StageDone* done = record.stage(std::string(stage.name));
    if (done == nullptr) {
      all.push_back({std::string(stage.states), "not reached", "", "", ""});
      continue;
    }
    std::string result = done->passed ? "passed" : "failed";
    if (done->passed && !done->findings.empty()) result = "passed with findings";
    all.push_back({std::string(stage.states), result, done->text, done->who, done->at});
  }
  return all;
}

std::string fact_in(const StageDone* stage, const std::string& name) {
  if (stage == nullptr) return {};
  const auto found = std::ranges::find_if(stage->facts, [&](const auto& fact) { return fact.first == name; });
  return found == stage->facts.end() ? "" : found->second;
}

std::vector<Acceptance::Field> position_of(const Commissioning& record) {
  const StageDone* done = record.stage("position");
  std::vector<Acceptance::Field> fields;
  const auto add = [&](const std::string& name, const std::string& surveyed, const std::string& found) {
    if (!surveyed.empty() || !found.empty()) fields.push_back({name, surveyed, found});
  };
  add("place", fact_in(done, "surveyed"), fact_in(done, "found"));
  add("height", fact_in(done, "height surveyed"), fact_in(done, "height found"));
  add("apart", "", fact_in(done, "apart"));
  return fields;
}

/// That they were changed, for whom and when; never which.
std::vector<std::string> keys_of(const Commissioning& record) {
  const StageDone* done = record.stage("keys");
  if (done == nullptr) return {"not changed yet"};
  if (done->change == 0) return {done->text};
  return {fmt::format("user {} opens it now, with keys that were given to it on {} in change {}",
                      fact_in(done, "user"), time_text(done->at), records::change_name(done->change)),
          fmt::format("credential {}, which opened it before, is refused", fact_in(done, "instead of"))};
}

bool all_passed(const Commissioning& record) {
  return std::ranges::all_of(stage_names(),
                             [&](const StageName& stage) { return record.passed(std::string(stage.name)); });
}

void judge_answers(const Commissioning& record, checks::Findings& findings) {
  for (const PoleCheck& check : checks::pole_checks()) {
    const records::PoleAnswer* answer = record.answer(std::string(check.name));
    if (answer == nullptr || answer->answer == "yes" || !check.field.empty()) continue;
    const std::string note = answer->note.empty() ? "" : ", " + answer->note;
    findings.add("pole-check", fmt::format("{}: {}{}", check.states, answer->answer, note));
  }
}

}  // namespace

const std::vector<StageName>& stage_names() {
  static const std::vector<StageName> all{
      {"reach", "answers"},
      {"identify", "is this unit"},
      {"firmware", "firmware"},
      {"keys", "keys"},
      {"apply", "settings"},
      {"health", "health"},
      {"position", "position", false},
      {"messages", "messages on air", false},
  };
  return all;
}

fleet::Unit as_measured(const fleet::Unit& unit, const Commissioning& record) {
  fleet::Unit measured = unit;
  for (const PoleCheck& check : checks::pole_checks()) {
    const records::PoleAnswer* answer = record.answer(std::string(check.name));
    if (answer == nullptr || check.field.empty() || answer->answer == not_asked) continue;
    measured.site.fields.set(check.field, answer->answer);
  }
  return measured;
}

std::vector<checks::Finding> open_findings(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                           const Commissioning& record) {
  checks::Findings findings(fleet.severities);
  judge_answers(record, findings);
  checks::judge_site(as_measured(unit, record), fleet.limits, findings);
  std::vector<checks::Finding> all = findings.take();
  for (const StageName& stage : stage_names()) {
    const StageDone* done = record.stage(std::string(stage.name));
    if (done == nullptr) continue;
    for (const StageDone::Finding& one : done->findings) {
      const auto severity = fleet::severity_named(one.severity).value_or(fleet::Severity::warning);
      all.push_back({one.rule, severity, one.text, one.source});
    }
  }
  std::ranges::stable_sort(
      all, [](const checks::Finding& a, const checks::Finding& b) { return a.severity > b.severity; });
  return all;
}

Acceptance acceptance_of(const fleet::Fleet& fleet, const fleet::Unit& unit, const Commissioning& record) {
  Acceptance sheet;
  sheet.fleet = fleet.name;
  sheet.unit = unit.name;
  sheet.model = unit.model->title;
  sheet.address = address_text(unit);
  sheet.firmware = fact_in(record.stage("identify"), "firmware");
  sheet.number = record.number();
  sheet.begun = record.begun();
  sheet.ended = record.ended();
  sheet.site = site_of(unit, record);
  sheet.checks = checks_of(unit, record);
  sheet.stages = stages_of(record);
  if (const StageDone* apply = record.stage("apply")) {
    for (const StageDone::Setting& one : apply->settings) {
      sheet.settings.push_back({one.name, one.as_found, one.as_left});
    }
  }
  const StageDone* changed = record.stage("apply");
  sheet.records = changed != nullptr && changed->change > 0
                      ? "records/changes/" + records::change_name(changed->change)
                      : "records/" + record.path() + ".jsonl";
  sheet.keys = keys_of(record);
  sheet.position = position_of(record);
  sheet.findings = open_findings(fleet, unit, record);
  sheet.cautions = checks::pole_cautions();
  sheet.accepted = all_passed(record) && checks::worst(sheet.findings) != fleet::Severity::error;
  return sheet;
}

Json acceptance_json(const Acceptance& sheet) {
  Json out{{"unit", sheet.unit},         {"model", sheet.model},       {"address", sheet.address},
           {"number", sheet.number},     {"begun", sheet.begun},       {"ended", sheet.ended},
           {"firmware", sheet.firmware}, {"accepted", sheet.accepted}, {"keys", sheet.keys}};
  out["site"] = Json::array();
  for (const auto& one : sheet.site) {
    out["site"].push_back({{"name", one.name}, {"text", one.text}, {"measured", one.measured}});
  }
  out["checks"] = Json::array();
  for (const auto& one : sheet.checks) {
    out["checks"].push_back({{"states", one.states},
                             {"answer", one.answer},
                             {"note", one.note},
                             {"who", one.who},
                             {"at", one.at}});
  }
  out["stages"] = Json::array();
  for (const auto& one : sheet.stages) {
    out["stages"].push_back(
        {{"name", one.name}, {"result", one.result}, {"text", one.text}, {"who", one.who}, {"at", one.at}});
  }
  out["settings"] = Json::array();
  for (const auto& one : sheet.settings) {
    out["settings"].push_back({{"name", one.name}, {"as_found", one.as_found}, {"as_left", one.as_left}});
  }
  out["position"] = Json::array();
  for (const auto& one : sheet.position) out["position"].push_back({{"name", one.name}, {"text", one.text}});
  out["findings"] = findings_json(sheet.findings);
  return out;
}

}  // namespace vergeset::report
