#include "cli/commission_stages.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <thread>

#include "change/audit.h"
#include "change/compare.h"
#include "change/factory_doors.h"
#include "change/reach.h"
#include "change/rekey.h"
#include "checks/firmware.h"
#include "cli/change_run.h"
#include "cli/doors.h"
#include "cli/exit_status.h"
#include "cli/key_place.h"
#include "cli/key_ways.h"
#include "cli/live.h"
#include "cli/print.h"
#include "cli/rekey_job.h"
#include "fleet/site.h"
#include "records/change_record.h"
#include "snmp/key_change.h"

namespace vergeset::cli {

namespace {

using records::StageDone;

StageEnd failed(const std::string& stage, const std::string& text, int status = Exit::trouble) {
  return {{stage, false, text}, status};
}

StageEnd passed(const std::string& stage, const std::string& text) {
  return {{stage, true, text}, Exit::done};
}

/// Findings into a stage; one that is an error fails it.
void take_findings(const std::vector<checks::Finding>& findings, StageEnd& end) {
  for (const checks::Finding& one : findings) {
    end.done.findings.push_back(
        {one.rule, std::string(fleet::severity_name(one.severity)), one.text, one.source});
    if (one.severity != fleet::Severity::error) continue;
    end.done.passed = false;
    end.status = Exit::trouble;
    end.done.text = one.text;
  }
}

std::string fact_of(const StageDone* stage, const std::string& name) {
  if (stage == nullptr) return {};
  for (const auto& [fact, text] : stage->facts) {
    if (fact == name) return text;
  }
  return {};
}

/// What a live command has, for one unit; it is gone with it.
Result<std::unique_ptr<Live>> live_for(const Stages& stages, const std::vector<const fleet::Unit*>& units) {
  auto live = go_live(stages.fleet, units, stages.options.common.records_folder(), Secrets::more_are_read);
  if (live && stages.options.accept) accept_replacements(**live, {&stages.unit});
  return live;
}

/// The unit's own credential where there is one to try, then the factory's.
std::vector<std::string> credentials_to_try(const Stages& stages) {
  std::vector<std::string> names{stages.unit.credential};
  for (const std::string& name : stages.fleet.factory_credentials) {
    if (std::ranges::find(names, name) == names.end()) names.push_back(name);
  }
  return names;
}

/// The unit as read by one credential.
Result<change::Audited> read_as(const Stages& stages, const std::string& credential) {
  fleet::Unit unit = stages.unit;
  unit.credential = credential;
  const auto live = live_for(stages, {&unit});
  if (!live) return Problem{live.problem()};
  if ((*live)->world.principal_of(unit) == nullptr) {
    change::Audited none;
    none.refused_us = true;
    none.what = "there are no keys of credential " + credential + " for it yet";
    return none;
  }
  change::Audited read = std::move(change::read_units((*live)->world, {&unit}, false, 1).front());
  read.unit = &stages.unit;
  return read;
}

/// Carries a change out on the one unit and tells what came of it.
struct ChangeEnd {
  int status = 0;
  std::optional<change::UnitResult> unit;
  int number = 0;
  std::string stopped;
};

ChangeRun change_run(const Stages& stages, const std::string& kind) {
  ChangeRun run;
  run.command = "commission";
  run.kind = kind;
  run.why = stages.options.why.empty() ? stages.record.path() : stages.options.why;
  run.json = stages.options.common.json;
  run.within = true;
  run.yes = stages.options.yes;
  run.allow_cut_off = stages.options.allow_cut_off;
  run.outside_window = stages.options.outside_window;
  run.pace = stages.options.pace;
  return run;
}

std::function<void(const change::ChangeResult&)> into(ChangeEnd& end) {
  return [&end](const change::ChangeResult& result) {
    end.number = result.number;
    end.stopped = result.stopped;
    if (!result.units.empty()) end.unit = result.units.front();
  };
}

/// A stage from a change of the unit.
StageEnd stage_of(const std::string& stage, const ChangeEnd& change, const std::string& nothing_to_do) {
  if (!change.unit)
    return failed(stage, "nothing was changed", std::max<int>(change.status, Exit::bad_input));
  const change::UnitResult& unit = *change.unit;
  const bool done =
      unit.outcome == change::Outcome::settled || unit.outcome == change::Outcome::nothing_to_do;
  std::string text(change::outcome_name(unit.outcome));
  if (unit.outcome == change::Outcome::nothing_to_do) text = nothing_to_do;
  if (change.number > 0) text += " in change " + records::change_name(change.number);
  if (!unit.what.empty()) text += ": " + unit.what;
  StageEnd end{{stage, done, text, change.number},
               done ? Exit::done : std::max<int>(change.status, Exit::trouble)};
  return end;
}

void take_settings(const change::UnitResult& unit, StageDone& stage) {
  for (const change::Difference& difference : unit.differences) {
    if (difference.kind == change::Difference::Kind::remove_row) {
      stage.settings.push_back({difference.title(), "there", "removed"});
    }
    const bool made = difference.kind == change::Difference::Kind::make_row;
    for (const change::Item& item : difference.items) {
      const std::string name = difference.is_row() ? difference.title() + " " + item.setting : item.setting;
      stage.settings.push_back({name, made ? "no such row" : item.as_found_text(), item.desired_text()});
    }
  }
}

/// The stage that tells of a finding of an audit; empty: none, for its own stage has told of it.
std::string_view stage_for(std::string_view rule) {
  for (const char* one :
       {"swapped", "other-site", "position-off", "reference-off", "height-off", "position-unknown"}) {
    if (rule == one) return "position";
  }
  if (rule == "messages-sent") return "messages";
  return rule == "firmware" ? "" : "health";
}

std::vector<checks::Finding> findings_of(const change::Audited& audited, std::string_view stage) {
  std::vector<checks::Finding> findings;
  for (const checks::Finding& one : audited.health) {
    if (stage_for(one.rule) == stage) findings.push_back(one);
  }
  return findings;
}

/// The unit read once more by its own credential, or why the stage has failed.
struct ReadAnew {
  std::unique_ptr<Live> live;
  std::optional<change::Audited> audited;
  std::optional<StageEnd> failed;
};

ReadAnew read_anew(const Stages& stages, const std::string& stage, const change::Before& before = {}) {
  ReadAnew out;
  auto live = live_for(stages, {&stages.unit});
  if (!live) {
    out.failed = failed(stage, live.problem(), Exit::bad_input);
    return out;
  }
  out.live = *std::move(live);
  change::Audited audited =
      std::move(change::audit(out.live->world, {&stages.unit}, "commission", 1, before).front());
  const bool answers =
      audited.verdict == change::Verdict::agrees || audited.verdict == change::Verdict::drifted;
  if (answers) {
    out.audited = std::move(audited);
  } else {
    const bool silent = audited.verdict == change::Verdict::no_answer;
    out.failed = failed(stage, audited.what, silent ? Exit::no_answer : Exit::trouble);
  }
  return out;
}

std::vector<std::pair<std::string, std::string>> position_facts(const records::FoundAt& found,
                                                                const fleet::Site& site) {
  std::vector<std::pair<std::string, std::string>> facts;
  facts.emplace_back("found", fmt::format("{:.7f}, {:.7f}", *found.latitude, *found.longitude));
  if (site.latitude && site.longitude) {
    facts.emplace_back("surveyed", fmt::format("{:.7f}, {:.7f}", *site.latitude, *site.longitude));
  }
  if (found.away && found.bearing) {
    facts.emplace_back(
        "apart", fmt::format("{:.1f} m, bearing {:.0f} deg from the survey", *found.away, *found.bearing));
  }
  if (found.height) facts.emplace_back("height found", fmt::format("{:.1f} m", *found.height));
  if (const auto elevation = fleet::site_number(site, "elevation")) {
    facts.emplace_back("height surveyed", fmt::format("{:.1f} m", *elevation));
  }
  return facts;
}

}  // namespace

StageEnd Stages::reach() const {
  // As nobody: a new unit does not know its own credential yet, and who it lets in is for the next stages.
  const auto live = live_for(*this, {});
  if (!live) return failed("reach", live.problem(), Exit::bad_input);
  change::ReachOptions how;
  how.at_once = 1;
  const auto climbed = change::reach((*live)->world, (*live)->network, {&unit}, how);
  const change::Climbed& end = climbed.front();
  const change::Hold& last = end.holds.back();
  const bool answers = end.at_top() || last.rung >= change::Rung::user;
  if (answers) return passed("reach", fmt::format("SNMP answers at {}:{}", unit.host, unit.port));
  const std::string text = fmt::format("{}: {}", change::rung_name(last.rung), last.what);
  return failed("reach", last.next.empty() ? text : text + ". Next: " + last.next,
                end.unanswered() ? Exit::no_answer : Exit::trouble);
}

StageEnd Stages::identify() const {
  std::string refused;
  for (const std::string& name : credentials_to_try(*this)) {
    const auto read = read_as(*this, name);
    if (!read) return failed("identify", read.problem(), Exit::bad_input);
    if (read->verdict == change::Verdict::wrong_unit) return failed("identify", read->what);
    if (read->verdict == change::Verdict::agrees) {
      StageEnd end = passed("identify", fmt::format("{}, opened by credential {}", unit.model->title, name));
      end.done.facts = {{"opened by", name}, {"engine", smi::to_hex(read->found.engine_id)}};
      if (const schema::Object* object = checks::firmware_object(*unit.model)) {
        const smi::Value& version = read->found.at(object->oid.child(0));
        if (!version.absent()) end.done.facts.emplace_back("firmware", smi::to_text(object->syntax, version));
      }
      return end;
    }
    refused = read->what;
    if (!read->refused_us) return failed("identify", read->what, Exit::no_answer);
  }
  return failed("identify", "no credential opens it: " + refused);
}

StageEnd Stages::firmware() const {
  const std::string version = fact_of(record.stage("identify"), "firmware");
  StageEnd end = passed("firmware", version.empty() ? "the unit does not tell its version" : version);
  checks::Findings findings(fleet.severities);
  checks::judge_firmware(fleet, *unit.model, version, findings);
  take_findings(findings.take(), end);
  return end;
}

StageEnd Stages::keys() const {
  const fleet::Credential& own = fleet.credentials.at(unit.credential);
  const std::string opener = fact_of(record.stage("identify"), "opened by");
  if (opener == unit.credential) return passed("keys", "its own credential opens it: no keys were changed");
  if (own.kind != fleet::Credential::Kind::user) {
    return failed("keys",
                  "credential " + opener + " opens it, and credential " + unit.credential +
                      " has no keys that a unit could be given over SNMP: set the unit up for it by hand");
  }
  ChangeRun run = change_run(*this, "rekey");
  const auto lock = take_lock(run, options.common.records_folder());
  if (!lock) return failed("keys", lock.problem(), Exit::bad_input);
  const auto place = key_place(fleet);
  if (!place) return failed("keys", place.problem(), Exit::bad_input);
  auto opened = open_keys(fleet, **place);
  if (!opened) return failed("keys", opened.problem(), Exit::bad_input);
  records::KeyStore store = *std::move(opened);
  const change::KeyTools tools{store, snmp::random_octets};
  KeyWishes wishes;
  wishes.from = opener;
  const auto goals = key_goals(fleet, {&unit}, wishes, store, true);
  if (!goals) return failed("keys", goals.problem(), Exit::bad_input);
  const auto live = live_for(*this, {});
  if (!live) return failed("keys", live.problem(), Exit::bad_input);
  ChangeEnd change;
  run.ended = into(change);
  change.status = carry_out(**live, rekey_job(**live, *goals, tools, run.pace), run);
  StageEnd end = stage_of("keys", change, "its own keys open it already");
  if (end.done.passed) {
    end.done.facts = {{"user", own.user}, {"instead of", opener}};
  }
  return end;
}

StageEnd Stages::apply() const {
  if (fleet.require_second_person) {
    // What a second person has to approve is done by a work order; here it is only found to be done.
    const auto read = read_as(*this, unit.credential);
    if (!read) return failed("apply", read.problem(), Exit::bad_input);
    if (change::compare(unit, read->found).agrees()) return passed("apply", "it is as its files ask");
    return failed("apply",
                  "this fleet requires a second person: set it with apply --write, approve and apply "
                  "--order, then go on with commission");
  }
  ChangeRun run = change_run(*this, "apply");
  const auto lock = take_lock(run, options.common.records_folder());
  if (!lock) return failed("apply", lock.problem(), Exit::bad_input);
  const auto live = live_for(*this, {&unit});
  if (!live) return failed("apply", live.problem(), Exit::bad_input);
  ChangeEnd change;
  run.ended = into(change);
  change.status = carry_out(**live, {{&unit, change::goal_of_files(fleet, unit)}}, run);
  StageEnd end = stage_of("apply", change, "it is as its files ask");
  if (end.done.passed) take_settings(*change.unit, end.done);
  return end;
}

StageEnd Stages::health() const {
  auto read = read_anew(*this, "health");
  if (!read.audited) return *std::move(read.failed);
  const StageDone* keys = record.stage("keys");
  if (keys == nullptr || keys->change == 0) {
    std::vector<change::Audited> one{*std::move(read.audited)};
    const auto doors = doors_of(fleet);
    if (!doors) return failed("health", doors.problem(), Exit::bad_input);
    change::try_doors(read.live->world, *doors, one, 1);
    read.audited = std::move(one.front());
  }
  if (!read.audited->comparison.agrees()) {
    return failed("health", "it is no longer as its files ask; vergeset diff " + unit.name + " shows how",
                  Exit::drift);
  }
  if (change::stands_open(*read.audited)) {
    return failed("health", "what it had from the factory opens it still; vergeset rekey " + unit.name +
                                " puts its own in place");
  }
  StageEnd end = passed("health", "agrees with its files, and is well");
  take_findings(findings_of(*read.audited, "health"), end);
  if (end.done.passed && !end.done.findings.empty()) end.done.text = "agrees with its files";
  return end;
}

StageEnd Stages::position() const {
  auto read = read_anew(*this, "position");
  if (!read.audited) return *std::move(read.failed);
  const records::FoundAt& found = read.audited->position;
  if (!found.latitude || !found.longitude) {
    return failed("position", "its position is not known: " + found.unknown +
                                  ". A unit that has just got power takes minutes to find satellites");
  }
  StageEnd end = passed("position", "known; no survey is recorded to hold it against");
  end.done.facts = position_facts(found, unit.site);
  if (found.away) end.done.text = fmt::format("{:.1f} m from its survey", *found.away);
  take_findings(findings_of(*read.audited, "position"), end);
  return end;
}

StageEnd Stages::messages() const {
  const auto first = read_anew(*this, "messages");
  if (!first.audited) return *first.failed;
  if (first.audited->counted.sent.empty()) {
    return passed("messages", "no counter of it counts a message that its files ask for");
  }
  print_aside(fmt::format("  counters of messages are watched for {:.0f} s\n", options.watch_s));
  std::this_thread::sleep_for(std::chrono::duration<double>(options.watch_s));
  const auto second = read_anew(*this, "messages", {{unit.name, first.audited->counted}});
  if (!second.audited) return *second.failed;
  StageEnd end =
      passed("messages", fmt::format("the counters of its messages moved within {:.0f} s", options.watch_s));
  take_findings(findings_of(*second.audited, "messages"), end);
  // What is a warning of a night's audit is a unit that sends nothing now.
  if (end.done.findings.empty()) return end;
  end.done.passed = false;
  end.done.text = end.done.findings.front().text;
  end.status = Exit::trouble;
  return end;
}

}  // namespace vergeset::cli
