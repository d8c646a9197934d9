#include "cli/commission_unit.h"

#include <fmt/format.h>

#include <algorithm>
#include <functional>

#include "cli/commission_stages.h"
#include "cli/exit_status.h"
#include "cli/print.h"
#include "fleet/site.h"
#include "report/acceptance_made.h"
#include "report/comparison_text.h"
#include "report/wrap.h"

namespace vergeset::cli {

namespace {

using checks::PoleCheck;
using records::Commissioning;

class CommissioningRun {
 public:
  CommissioningRun(const fleet::Fleet& fleet, const fleet::Unit& unit, const PoleAnswers& answers,
                   const CommissionOptions& options, Commissioning record)
      : fleet_(fleet),
        unit_(unit),
        answers_(answers),
        options_(options),
        record_(std::move(record)),
        disk_(options.common.records_folder()) {}

  Commissioned run() {
    begin();
    // What the answers file says and the terminal is asked for comes before anything is sent.
    if (take_answers(false) && take_answers(true) && take_stages()) finish();
    end_.sheet = report::acceptance_of(fleet_, unit_, record_);
    return std::move(end_);
  }

 private:
  void say(const std::string& text) const { options_.common.json ? print_aside(text) : print(text); }
  report::Screen screen() const { return options_.common.json ? screen_aside() : screen_here(); }
  std::string now() const { return records::stamp(records::SystemClock().now()); }

  void begin() {
    const bool fresh = record_.is_new();
    if (fresh) record_.begin(disk_, who_am_i(), now());
    say(report::unit_line(screen(), unit_,
                          fmt::format("commissioning {:04}, {} {}", record_.number(),
                                      fresh ? "begun" : "begun on", report::time_text(record_.begun()))));
  }

  bool stop(int status, const std::string& why) {
    end_.status = std::max(end_.status, status);
    end_.stopped = why;
    say(report::paragraph(screen(), "stopped: " + why, 2));
    return false;
  }

  bool is_open(const PoleCheck& check) const {
    if (options_.bench && !check.at_bench) return false;
    const records::PoleAnswer* answer = record_.answer(std::string(check.name));
    return answer == nullptr || (check.must_hold && answer->answer != "yes");
  }

  /// Whether the work area is safe is asked on each visit that has anything else to look at.
  bool to_be_made(const PoleCheck& check, bool with_power) const {
    if (check.with_power != with_power) return false;
    if (!check.each_visit || options_.bench) return is_open(check);
    return is_open(check) || std::ranges::any_of(checks::pole_checks(), [&](const PoleCheck& other) {
             return !other.at_bench && is_open(other);
           });
  }

  std::string recorded(const PoleCheck& check) const {
    return check.field.empty() ? "" : fleet::recorded(unit_.site, check.field);
  }

  bool take_answers(bool with_power) {
    for (const PoleCheck& check : checks::pole_checks()) {
      if (to_be_made(check, with_power) && !take_answer(check)) return false;
    }
    return true;
  }

  bool take_answer(const PoleCheck& check) {
    const std::string name(check.name);
    auto answer = answers_.find(unit_.name, name);
    if (!answer && !can_ask()) {
      return stop(
          Exit::bad_input,
          fmt::format("check {} has no answer, and there is no terminal to ask at; give it in the file of "
                      "--answers",
                      name));
    }
    if (!answer) answer = ask_check(check, recorded(check));
    if (!answer) return stop(Exit::interrupted, fmt::format("check {} was not answered", name));
    if (answer->who.empty()) answer->who = who_am_i();
    answer->at = now();
    const bool holds = answer->answer == "yes" || !check.must_hold;
    record_.add(disk_, *std::move(answer));
    if (holds) return true;
    return stop(Exit::trouble, fmt::format("{} has to be answered yes before the work goes on", name));
  }

  bool take_stages() {
    const Stages stages{fleet_, unit_, options_, record_};
    const std::vector<std::pair<std::string, std::function<StageEnd()>>> all{
        {"reach", [&] { return stages.reach(); }},       {"identify", [&] { return stages.identify(); }},
        {"firmware", [&] { return stages.firmware(); }}, {"keys", [&] { return stages.keys(); }},
        {"apply", [&] { return stages.apply(); }},       {"health", [&] { return stages.health(); }},
        {"position", [&] { return stages.position(); }}, {"messages", [&] { return stages.messages(); }},
    };
    for (const auto& [name, take] : all) {
      if (record_.passed(name)) continue;
      if (options_.bench && !at_bench(name)) return left_for_pole();
      if (!take_stage(name, take())) return false;
    }
    return true;
  }

  static bool at_bench(const std::string& name) {
    return std::ranges::any_of(report::stage_names(), [&](const report::StageName& stage) {
      return stage.name == name && stage.at_bench;
    });
  }

  bool left_for_pole() {
    end_.stopped = "done at the bench; commission it again at its pole";
    say(report::paragraph(screen(), end_.stopped, 2));
    return false;
  }

  bool take_stage(const std::string& name, StageEnd end) {
    end.done.who = who_am_i();
    end.done.at = now();
    const std::string text = end.done.text;
    const bool passed = end.done.passed;
    std::string lines = report::paragraph(screen(), fmt::format("{:<10} {}", name, text), 2);
    for (const records::StageDone::Finding& one : end.done.findings) {
      if (one.text == text) continue;
      lines +=
          report::paragraph(screen(), fmt::format("{}: {} ({})", one.severity, one.text, one.source), 13);
    }
    record_.add(disk_, std::move(end.done));
    say(lines);
    return passed ||
           stop(end.status, fmt::format("{} did not pass; mend it and commission the unit again", name));
  }

  void finish() {
    record_.end(disk_, who_am_i(), now());
    const report::Acceptance sheet = report::acceptance_of(fleet_, unit_, record_);
    report::Screen paper;
    paper.width = 80;
    disk_.write_whole(record_.path() + ".txt", report::acceptance_text(paper, sheet));
    disk_.write_whole(record_.path() + ".html", report::acceptance_page(sheet));
    end_.sheet_path = record_.path();
    if (!sheet.accepted) end_.status = std::max<int>(end_.status, Exit::trouble);
  }

  const fleet::Fleet& fleet_;
  const fleet::Unit& unit_;
  const PoleAnswers& answers_;
  const CommissionOptions& options_;
  Commissioning record_;
  records::FolderDisk disk_;
  Commissioned end_;
};

}  // namespace

Commissioned commission_unit(const fleet::Fleet& fleet, const fleet::Unit& unit, const PoleAnswers& answers,
                             const CommissionOptions& options) {
  const records::FolderDisk disk(options.common.records_folder());
  auto record = Commissioning::open(disk, unit.name);
  if (!record) {
    Commissioned end;
    end.status = complain(record.problem());
    end.stopped = record.problem();
    end.sheet.unit = unit.name;
    return end;
  }
  return CommissioningRun(fleet, unit, answers, options, *std::move(record)).run();
}

}  // namespace vergeset::cli
