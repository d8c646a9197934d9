#include "cli/change_run.h"

#include <unistd.h>

#include <algorithm>
#include <functional>

#include "change/recover.h"
#include "cli/claims.h"
#include "cli/exit_status.h"
#include "cli/interrupt.h"
#include "cli/local_time.h"
#include "cli/order_file.h"
#include "cli/print.h"
#include "cli/rehearse.h"
#include "cli/twins.h"
#include "report/change_text.h"
#include "report/json.h"
#include "report/rehearsal.h"

namespace vergeset::cli {

namespace {

using change::ChangeResult;
using change::Outcome;
using change::Preview;

class Running {
 public:
  Running(Live& live, const Job& job, const ChangeRun& run)
      : live_(live), job_(job), run_(run), screen_(run.json ? screen_aside() : screen_here()) {
    screen_.full = run.full;
  }

  int run() {
    const auto program = run_.rehearse ? simulator() : Result<std::string>(std::string());
    if (!program) return complain(program.problem());
    read();
    if (run_.rehearse) rehearsals_ = job_.rehearse(previews_, *program);
    if (run_.sends_nothing()) return dry_run();
    say(report::rehearsal_text(screen_, rehearsals_));
    say(job_.preview_text(screen_, previews_, waves()));
    if (would_change() == 0) return end(untouched({}));
    const std::string closed =
        run_.outside_window ? std::string() : closed_window(live_.world.fleet, live_.clock.now());
    if (!closed.empty()) return end(untouched(closed));
    const std::string caution = job_.caution(screen_, previews_);
    say(caution);
    if (must_ask(caution) && !run_.yes) {
      if (!can_ask()) {
        return complain(job_.unasked +
                        ", and there is no terminal to ask at; add --yes to go on. No SET was sent");
      }
      if (!ask("Go on? (yes or no)")) {
        end(untouched("not agreed to"));
        return Exit::interrupted;
      }
    }
    return end(change());
  }

 private:
  /// Beside a JSON document, progress is told on standard error.
  void say(const std::string& text) const { run_.json ? print_aside(text) : print(text); }

  void read() { previews_ = job_.preview(run_.sends_nothing() ? change::dry_run : run_.command); }

  std::size_t would_change() const {
    return static_cast<std::size_t>(std::count_if(previews_.begin(), previews_.end(), [](const Preview& one) {
      return one.result.outcome == Outcome::settled;
    }));
  }

  /// A change of settings asks only where units leave operate.
  bool must_ask(const std::string& caution) const {
    return job_.always_asks ? !caution.empty() : leaves_operate();
  }

  bool leaves_operate() const {
    return std::any_of(previews_.begin(), previews_.end(), [](const Preview& one) {
      const change::Sequence& sequence = one.result.sequence;
      return one.result.outcome == Outcome::settled && (sequence.leaves_operate || sequence.ends_off_air);
    });
  }

  std::vector<std::size_t> waves() const {
    return change::wave_sizes(live_.world.fleet.waves, would_change());
  }

  int dry_run() {
    std::string written;
    if (!run_.write.empty()) {
      const auto problem = write_order(run_.write, live_.world, previews_, who_am_i(), run_.why);
      if (problem) return complain(*problem);
      written = run_.write;
    }
    if (run_.json) {
      report::Json document = report::document(run_.command);
      document["dry_run"] = true;
      document["work_order"] = written.empty() ? report::Json() : report::Json(written);
      document["units"] = report::dry_run_json(previews_);
      if (run_.rehearse) document["rehearsal"] = report::rehearsal_json(rehearsals_);
      print(report::dump(document));
    } else {
      print(job_.dry_run_text(screen_, previews_));
      if (!rehearsals_.empty()) print("\n" + report::rehearsal_text(screen_, rehearsals_));
      if (!written.empty()) print("work order written to " + written + "\n");
    }
    int status = Exit::done;
    for (const Preview& preview : previews_) status = std::max<int>(status, exit_of(preview.result.outcome));
    return status;
  }

  /// Where no SET is sent at all: what would be changed is held.
  ChangeResult untouched(const std::string& why) const {
    ChangeResult result;
    result.stopped = why;
    for (const Preview& preview : previews_) {
      result.units.push_back(preview.result);
      if (preview.result.outcome != Outcome::settled) continue;
      result.units.back().outcome = Outcome::held;
      result.units.back().what = why;
    }
    return result;
  }

  std::string may_go_on() const {
    if (interrupt_noted()) return "interrupted";
    return run_.outside_window ? std::string() : closed_window(live_.world.fleet, live_.clock.now());
  }

  ChangeResult change() {
    std::size_t name_width = 0;
    for (const Preview& preview : previews_) name_width = std::max(name_width, preview.result.unit.size());
    change::ApplyOptions options;
    options.kind = run_.kind;
    options.of = run_.of;
    options.who = who_am_i();
    options.why = run_.why;
    options.approved = run_.approved;
    options.allow_cut_off = run_.allow_cut_off;
    options.at_once = run_.pace.at_once;
    options.failures_allowed = live_.world.fleet.failures_allowed;
    options.may_go_on = [this] { return may_go_on(); };
    options.wave_begins = [this](std::size_t wave, std::size_t of, std::size_t units) {
      say(report::wave_line(wave, of, units));
    };
    options.unit_ends = [this, name_width](const fleet::Unit&, const change::UnitResult& unit) {
      say(report::unit_end_text(screen_, static_cast<int>(name_width), unit));
    };
    const Interruptible interruptible(live_);
    return job_.apply(previews_, options);
  }

  int end(const ChangeResult& result) const {
    if (run_.ended) run_.ended(result);
    if (run_.json && run_.within) {
      say(report::change_end_text(screen_, result));
    } else if (run_.json) {
      report::Json document = report::document(run_.command);
      document["dry_run"] = false;
      document.update(report::change_result_json(result));
      if (run_.rehearse) document["rehearsal"] = report::rehearsal_json(rehearsals_);
      print(report::dump(document));
    } else {
      print(report::change_end_text(screen_, result));
    }
    int status = interrupt_noted() ? Exit::interrupted : Exit::done;
    for (const change::UnitResult& unit : result.units) status = std::max<int>(status, exit_of(unit));
    // Nothing was held for it, so it is the records that stopped.
    if (status == Exit::done && !result.stopped.empty()) status = Exit::internal;
    return status;
  }

  Live& live_;
  const Job& job_;
  const ChangeRun& run_;
  report::Screen screen_;
  std::vector<Preview> previews_;
  std::vector<change::Rehearsal> rehearsals_;
};

/// "apply", "rollback 0042": as whoever comes second is told.
std::string command_of(const ChangeRun& run) {
  return run.of.empty() ? run.command : run.command + " " + run.of;
}

}  // namespace

std::vector<Option> options_of(ChangeRun& run) {
  return with({{"--dry-run", "", "show differences and steps; send no SET", &run.dry_run},
               {"--rehearse", "", "carry it out on twins of the units first", &run.rehearse},
               {"--why", "TEXT", "why, for the records", &run.why},
               {"--yes", "", "do not ask before units go to standby", &run.yes},
               {"--allow-cut-off", "", "also set what can cut this manager off", &run.allow_cut_off},
               {"--outside-window", "", "though the maintenance window is closed", &run.outside_window},
               accept_option(run.accept),
               {"--full", "", "long octet strings whole", &run.full}},
              options_of(run.pace));
}

Result<std::optional<records::Lock>> take_lock(const ChangeRun& run, const std::string& records) {
  if (run.sends_nothing()) return std::optional<records::Lock>();
  auto lock = records::Lock::take(
      records, {who_am_i(), command_of(run), records::stamp(records::SystemClock().now()), getpid()});
  if (!lock) return Problem{lock.problem()};
  return std::optional<records::Lock>(*std::move(lock));
}

int carry_out(Live& live, const Job& job, const ChangeRun& run) {
  if (const std::string unfinished = change::why_not_apply(live.disk); !unfinished.empty()) {
    if (!run.sends_nothing()) {
      complain(unfinished + ". No SET was sent");
      return Exit::trouble;
    }
    print_aside("note: " + unfinished + ", where no other vergeset is at it\n");
  }
  if (!run.sends_nothing()) {
    auto claims = claims_for(command_of(run));
    if (!claims) return complain(claims.problem());
    live.world.claim = *std::move(claims);
  }
  return Running(live, job, run).run();
}

int carry_out(Live& live, const std::vector<change::UnitGoal>& goals, const ChangeRun& run) {
  std::vector<change::UnitGoal> rehearsed;
  std::reference_wrapper<const std::vector<change::UnitGoal>> chosen = goals;
  Job job;
  job.preview = [&](const std::string& purpose) {
    const Watching watching(live, goals.size(), run.pace);
    return change::preview(live.world, chosen, run.allow_cut_off, run.pace.at_once, purpose);
  };
  job.apply = [&](const std::vector<Preview>& previews, const change::ApplyOptions& options) {
    return change::apply(live.world, chosen, previews, options);
  };
  job.rehearse = [&](std::vector<Preview>& previews, const std::string& program) {
    rehearsed = chosen.get();
    chosen = rehearsed;
    return rehearse(live, rehearsed, previews, {program, run.allow_cut_off, run.pace});
  };
  job.dry_run_text = report::dry_run_text;
  job.preview_text = report::preview_text;
  job.caution = report::caution_text;
  job.unasked = "units would go to standby";
  return carry_out(live, job, run);
}

}  // namespace vergeset::cli
