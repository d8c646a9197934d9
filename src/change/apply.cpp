#include "change/apply.h"

#include <algorithm>
#include <fstream>
#include <iterator>

#include "change/identify.h"
#include "change/in_hand.h"
#include "change/keep.h"
#include "change/logged_link.h"
#include "change/survey.h"
#include "records/unit_log.h"

namespace vergeset::change {

namespace {

bool failed(const UnitResult& result) {
  return result.outcome != Outcome::settled && result.outcome != Outcome::nothing_to_do;
}

void end(UnitResult& result, Outcome outcome, std::string what) {
  result.outcome = outcome;
  result.what = std::move(what);
}

void not_reached(const World& world, const fleet::Unit& unit, const snmp::Error& error, UnitResult& result) {
  const std::string stranger = stranger_text(world, unit, error);
  if (!stranger.empty()) return end(result, Outcome::refused, "wrong unit: " + stranger);
  end(result, Outcome::no_answer, error.text);
}

/// Reads one unit and fills its preview.
snmp::Task<void> look_at(const World& world, const UnitGoal& wanted, bool allow_cut_off, std::string purpose,
                         Preview& out) {
  const fleet::Unit& unit = *wanted.unit;
  UnitResult& result = out.result;
  records::UnitLog log(world.disk, world.clock, unit.name, std::move(purpose));
  snmp::Opened opened = co_await open_link(world, unit);
  if (!opened) {
    log.line("no link: " + opened.error.text);
    not_reached(world, unit, opened.error, result);
    co_return;
  }
  LoggedLink link(std::move(opened.link), log, *unit.model);
  Surveyed surveyed = co_await survey(link, wanted.goal.wanted);
  if (!surveyed) {
    not_reached(world, unit, *surveyed.error, result);
    co_return;
  }
  remember_engine(world, unit, link);
  out.found = std::move(surveyed.found);
  out.found.taken = records::stamp(world.clock.now());
  if (const auto wrong = wrong_unit(world.fleet, unit, out.found)) {
    end(result, Outcome::refused, "wrong unit: " + *wrong);
    co_return;
  }
  know(world, unit, link, log);
  Comparison comparison = wanted.goal.compare(out.found);
  result.differences = std::move(comparison.differences);
  result.remarks = std::move(comparison.remarks);
  if (!comparison.obstacles.empty()) {
    end(result, Outcome::refused, comparison.obstacles.front());
    co_return;
  }
  if (result.differences.empty()) {
    co_await read_details(link, *unit.model, out.found);
    judge(world.fleet, unit, out.found, result);
    end(result, Outcome::nothing_to_do, "");
    co_return;
  }
  if (const auto objection = wanted.goal.objection ? wanted.goal.objection(out.found) : std::nullopt) {
    end(result, Outcome::refused, *objection);
    co_return;
  }
  const Surveyed rest = co_await read(link, to_keep(*unit.model, result.differences));
  if (!rest) {
    end(result, Outcome::no_answer, rest.error->text);
    co_return;
  }
  for (const auto& [instance, value] : rest.found.instances) out.found.instances[instance] = value;
  fill_whole_rows(unit, out.found, result.differences);
  const ModeFound mode = mode_of(*unit.model, out.found);
  result.sequence =
      wanted.goal.reviewed ? *wanted.goal.reviewed : sequence(*unit.model, result.differences, mode);
  const bool cuts_off = std::any_of(result.sequence.steps.begin(), result.sequence.steps.end(),
                                    [](const Step& step) { return step.cuts_off; });
  if (cuts_off && !allow_cut_off) {
    end(result, Outcome::refused, "can cut this manager off: add --allow-cut-off to set it");
    co_return;
  }
  end(result, Outcome::settled, "");
}

/// One change: its record, its journal, its waves.
class Applying {
 public:
  Applying(const World& world, const std::vector<Preview>& previews, const ApplyOptions& options,
           const CarryOut& carry_out)
      : world_(world),
        previews_(previews),
        options_(options),
        carry_out_(carry_out),
        number_(records::take_change_number(world.disk)),
        journal_(world.disk, world.clock, records::change_path(number_, "journal.jsonl")) {
    out_.number = number_;
    for (const Preview& preview : previews) {
      out_.units.push_back(preview.result);
      // What would be changed is held until its turn comes.
      if (preview.result.outcome == Outcome::settled) out_.units.back().outcome = Outcome::held;
    }
  }

  ChangeResult run() {
    begin();
    const std::vector<std::size_t> order = turn_order();
    const std::vector<std::size_t> sizes = sizes_of(order);
    std::size_t next = 0;
    for (std::size_t wave = 0; wave < sizes.size(); ++wave) {
      out_.stopped = why_not_go_on();
      if (!out_.stopped.empty()) break;
      if (options_.wave_begins) options_.wave_begins(wave + 1, sizes.size(), sizes[wave]);
      const std::vector<std::size_t> units(order.begin() + static_cast<std::ptrdiff_t>(next),
                                           order.begin() + static_cast<std::ptrdiff_t>(next + sizes[wave]));
      failures_ = 0;
      run_wave(units);
      next += sizes[wave];
      const bool any_held =
          next < order.size() || std::any_of(units.begin(), units.end(), [&](std::size_t i) {
            return out_.units[i].outcome == Outcome::held;
          });
      if (out_.stopped.empty() && any_held && too_many_failed()) {
        out_.stopped = std::to_string(failures_) + " of " + std::to_string(units.size()) +
                       " units failed in wave " + std::to_string(wave + 1) + "; the fleet allows " +
                       std::to_string(options_.failures_allowed);
      }
      if (!out_.stopped.empty()) break;
    }
    for (UnitResult& unit : out_.units) {
      if (unit.outcome == Outcome::held) unit.what = out_.stopped;
    }
    finish();
    return std::move(out_);
  }

 private:
  records::ChangeRecord record() const {
    records::ChangeRecord record;
    record.number = number_;
    record.kind = options_.kind;
    record.of = options_.of;
    record.who = options_.who;
    record.why = options_.why;
    record.approved = options_.approved;
    record.fleet = world_.fleet.name;
    record.begun = begun_;
    record.files = digests(world_.fleet);
    for (const UnitResult& unit : out_.units) {
      record.units.push_back({unit.unit, std::string(outcome_name(unit.outcome)), unit.what, unit.steps_done,
                              unit.off_air.count()});
    }
    return record;
  }

  void begin() {
    begun_ = records::stamp(world_.clock.now());
    world_.disk.write_whole(records::change_path(number_, "change.yaml"), to_yaml(record()));
    journal_.write({{"event", "begin"},
                    {"change", number_},
                    {"kind", options_.kind},
                    {"who", options_.who},
                    {"why", options_.why},
                    {"units", out_.units.size()}});
  }

  /// What became of the units is told even where it can no longer be recorded: the journal has as much of
  /// it as the disk took.
  void finish() {
    const bool left = std::any_of(out_.units.begin(), out_.units.end(),
                                  [](const UnitResult& unit) { return unit.unfinished; });
    if (left) return;  // to recovery
    try {
      journal_.write({{"event", "end"}, {"change", number_}, {"stopped", out_.stopped}});
      records::ChangeRecord ended = record();
      ended.ended = records::stamp(world_.clock.now());
      world_.disk.write_whole(records::change_path(number_, "change.yaml"), to_yaml(ended));
    } catch (const records::DiskError& error) {
      out_.stopped += (out_.stopped.empty() ? "" : "; ") + std::string(error.what()) +
                      "; its end is not on record: vergeset recover";
    }
  }

  /// Empty, or why no further unit may be begun.
  std::string why_not_go_on() const { return options_.may_go_on ? options_.may_go_on() : std::string(); }

  bool too_many_failed() const { return failures_ > options_.failures_allowed; }

  bool cuts_off(std::size_t i) const {
    const std::vector<Step>& steps = out_.units[i].sequence.steps;
    return std::any_of(steps.begin(), steps.end(), [](const Step& step) { return step.cuts_off; });
  }

  /// The units to change, those that can cut us off last.
  std::vector<std::size_t> turn_order() const {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < out_.units.size(); ++i) {
      if (out_.units[i].outcome == Outcome::held) order.push_back(i);
    }
    std::stable_partition(order.begin(), order.end(), [&](std::size_t i) { return !cuts_off(i); });
    return order;
  }

  std::vector<std::size_t> sizes_of(const std::vector<std::size_t>& order) const {
    const auto alone = static_cast<std::size_t>(
        std::count_if(order.begin(), order.end(), [&](std::size_t i) { return cuts_off(i); }));
    std::vector<std::size_t> sizes = wave_sizes(world_.fleet.waves, order.size() - alone);
    sizes.insert(sizes.end(), alone, 1);
    return sizes;
  }

  /// A unit that waits for its turn within the wave is held too once the change is to stop.
  snmp::Task<void> one(std::size_t i) {
    if (out_.stopped.empty()) out_.stopped = why_not_go_on();
    if (!out_.stopped.empty() || too_many_failed()) co_return;
    SettleOptions options{number_, options_.allow_cut_off, options_.watcher};
    UnitResult result = co_await carry_out_(i, options, journal_);
    if (failed(result)) ++failures_;
    if (result.records_failed && out_.stopped.empty()) out_.stopped = "records can no longer be written";
    out_.units[i] = std::move(result);
    if (options_.unit_ends) options_.unit_ends(*previews_[i].unit, out_.units[i]);
  }

  void run_wave(const std::vector<std::size_t>& units) {
    world_.network.run_each(
        units.size(), [&](std::size_t i) { return one(units[i]); }, options_.at_once);
    try {
      world_.disk.sync_all();  // what was left of each unit
    } catch (const records::DiskError& error) {
      if (out_.stopped.empty()) out_.stopped = error.what();
    }
  }

  const World& world_;
  const std::vector<Preview>& previews_;
  const ApplyOptions& options_;
  const CarryOut& carry_out_;
  int number_;
  records::Journal journal_;
  std::string begun_;
  int failures_ = 0;  ///< in the wave under way
  ChangeResult out_;
};

snmp::Task<void> preview_one(const World& world, const UnitGoal& wanted, bool allow_cut_off,
                             std::string purpose, Preview& out) {
  if (world.progress != nullptr) world.progress->begins();
  const bool keeps = purpose == dry_run;
  co_await look_at(world, wanted, allow_cut_off, std::move(purpose), out);
  if (!keeps) out.found.instances.clear();
  if (world.progress != nullptr) world.progress->ends(failed(out.result));
}

}  // namespace

std::vector<Preview> preview(const World& world, const std::vector<UnitGoal>& goals, bool allow_cut_off,
                             std::size_t at_once, const std::string& purpose) {
  std::vector<Preview> previews(goals.size());
  const auto begin = [&](std::size_t i) {
    previews[i].unit = goals[i].unit;
    previews[i].result.unit = goals[i].unit->name;
    return preview_one(world, goals[i], allow_cut_off, purpose, previews[i]);
  };
  world.network.run_each(goals.size(), begin, at_once);
  if (world.known != nullptr) world.known->keep(world.disk);
  return previews;
}

records::Snapshot as_found_of(const Preview& preview) {
  return keep(*preview.unit, preview.found, preview.result.differences);
}

std::vector<std::size_t> wave_sizes(const std::vector<fleet::Wave>& waves, std::size_t units) {
  std::vector<std::size_t> sizes;
  std::size_t left = units;
  for (const fleet::Wave& wave : waves) {
    if (left == 0) break;
    std::size_t size = left;
    if (wave.kind == fleet::Wave::Kind::count) size = static_cast<std::size_t>(std::max(1, wave.number));
    if (wave.kind == fleet::Wave::Kind::percent) {
      size = std::max<std::size_t>(1, (units * static_cast<std::size_t>(wave.number) + 99) / 100);
    }
    sizes.push_back(std::min(size, left));
    left -= sizes.back();
  }
  if (left > 0) sizes.push_back(left);
  return sizes;
}

ChangeResult in_waves(const World& world, const std::vector<Preview>& previews, const ApplyOptions& options,
                      const CarryOut& carry_out) {
  const bool any = std::any_of(previews.begin(), previews.end(), [](const Preview& preview) {
    return preview.result.outcome == Outcome::settled;
  });
  if (any) return Applying(world, previews, options, carry_out).run();
  ChangeResult nothing;
  for (const Preview& preview : previews) nothing.units.push_back(preview.result);
  return nothing;
}

ChangeResult apply(const World& world, const std::vector<UnitGoal>& goals,
                   const std::vector<Preview>& previews, const ApplyOptions& options) {
  const CarryOut settle_one = [&](std::size_t i, const SettleOptions& how, records::Journal& journal) {
    return settle(world, *goals[i].unit, goals[i].goal, journal, how);
  };
  return in_waves(world, previews, options, settle_one);
}

std::vector<std::pair<std::string, std::string>> digests(const fleet::Fleet& fleet) {
  std::vector<std::pair<std::string, std::string>> all;
  for (const std::string& name : fleet.files) {
    std::ifstream file(fleet.folder + "/" + name, std::ios::binary);
    const std::string text(std::istreambuf_iterator<char>(file), {});
    all.emplace_back(name, records::sha256(text));
  }
  return all;
}

}  // namespace vergeset::change
