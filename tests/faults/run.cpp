#include "run.h"

#include <fmt/format.h>

#include <algorithm>
#include <sstream>

#include "agent.h"
#include "change/apply.h"
#include "change/recover.h"
#include "fault_disk.h"
#include "fault_network.h"
#include "plan.h"
#include "records/engines.h"
#include "records/journal.h"

namespace vergeset::faults {

namespace {

using change::Outcome;

class Running {
 public:
  Running(std::uint64_t seed, bool tell)
      : dice_(seed ^ 0x5eed5eed5eed5eedU),
        plan_(draw(seed)),
        fleet_(*plan_.fleet),
        disk_(dice_.apart(), trace_),
        watch_(fleet_, disk_, trace_),
        network_(dice_.apart(), plan_.weather, watch_, trace_),
        clock_(network_) {
    trace_.on = tell;
    trace_.now = [this] { return network_.now().count(); };
    for (const std::string& line : to_text(plan_)) trace_.say("{}", line);
    agents_.reserve(plan_.units.size());
    for (std::size_t i = 0; i < plan_.units.size(); ++i) {
      network_.unit_at[fleet_.fleet.units[i].host] = i;
      agents_.emplace_back(fleet_, i, plan_.units[i], watch_, trace_, now_);
      for (const milliseconds at : agents_.back().moments()) network_.remind(i, at);
    }
    network_.agents = &agents_;
    network_.dies = [this] { disk_.program_dies(); };
    disk_.troubles = plan_.disk;
    if (plan_.disk_slow_ms > 0)
      disk_.takes_time = [this] { network_.takes(milliseconds(dice_.between(0, plan_.disk_slow_ms))); };
    disk_.watcher = [this](const std::string& path, const std::string& octets) {
      if (trace_.on && path.ends_with(".jsonl")) tell_journal(octets);
    };
    for (int left = plan_.clock_steps; left > 0; --left)
      clock_.steps.push_back({milliseconds(dice_.between(0, 30000)), dice_.between(-86400000, 86400000)});
  }

  std::optional<Broken> run() {
    watch_.may_not_end_badly(plan_.mild());
    first();
    if (watch_.broken()) return watch_.broken();
    if (is_unfinished()) {
      network_.kill_at_event = plan_.kill_recovery_at_event;
      recover(false);
      network_.kill_at_event = 0;
    }
    network_.pass(milliseconds(200000));  // what was late has arrived
    faults_cease();
    if (!watch_.broken() && is_unfinished()) end_what_is_left();
    if (!watch_.broken()) second();
    return watch_.broken();
  }

 private:
  change::World world() {
    change::World world{network_, disk_, clock_, fleet_.fleet, [](const fleet::Unit&) { return nullptr; }};
    if (plan_.remembers_engines) world.engines = &engines_;
    return world;
  }

  std::vector<Behind> behind() const {
    std::vector<Behind> all;
    for (const Agent& agent : agents_) all.push_back(agent.behind());
    return all;
  }

  change::ApplyOptions options() {
    change::ApplyOptions options;
    options.kind = "apply";
    options.who = "the search";
    options.allow_cut_off = fleet_.allow_cut_off;
    options.failures_allowed = fleet_.fleet.failures_allowed;
    options.unit_ends = [this](const fleet::Unit& unit, const change::UnitResult& result) {
      ++ended_;
      unit_ends(index_of(unit), result);
    };
    return options;
  }

  std::size_t index_of(const fleet::Unit& unit) const {
    return static_cast<std::size_t>(&unit - fleet_.fleet.units.data());
  }

  /// The result, or nothing where the disk ended it or the program was killed.
  std::optional<change::ChangeResult> apply(const change::ApplyOptions& options) {
    const change::World outside = world();
    watch_.change_begins(behind(), network_.now());
    network_.program_begins();
    try {
      const auto previews = change::preview(outside, fleet_.goals, options.allow_cut_off, 16, options.kind);
      change::ChangeResult result = change::apply(outside, fleet_.goals, previews, options);
      for (std::size_t i = 0; i < result.units.size(); ++i) {
        if (!result.units[i].unfinished) unit_ends(i, result.units[i]);
      }
      check_records(result);
      return result;
    } catch (const records::DiskError& error) {
      trace_.say("apply ends: {}", error.what());
      for (std::size_t i = 0; i < agents_.size(); ++i) {
        if (watch_.ours_carried(i) && !watch_.has_ended(i))
          watch_.breaks(1, fmt::format("the disk failed, and nothing was said of {}, which had been SET",
                                       fleet_.fleet.units[i].name));
      }
    } catch (const Killed&) {
      die();
    }
    return std::nullopt;
  }

  void unit_ends(std::size_t unit, const change::UnitResult& result) {
    if (result.unfinished || result.what.find("still unfinished") != std::string::npos)
      return watch_.unit_stays_open(unit, result);
    watch_.unit_ends(unit, result);
  }

  /// The program is killed, or the power cut; after a while the next one may begin. What has an outcome on
  /// record by then has ended.
  void die() {
    trace_.say("killed{}", plan_.power_cut ? " by a power cut" : "");
    disk_.program_dies();
    disk_.program_begins(plan_.power_cut);
    network_.program_dies();
    watch_.program_died();
    if (watch_.broken()) return;
    for (const std::string& change : disk_.list("changes")) {
      const auto journal = disk_.read("changes/" + change + "/journal.jsonl");
      if (!journal) continue;
      for (const records::Json& event : records::read_journal(*journal).events) note_outcome(event);
    }
    network_.pass(milliseconds(dice_.between(0, plan_.power_cut ? 60000 : 5000)));
  }

  void note_outcome(const records::Json& event) {
    if (!event.is_object() || event.value("event", "") != "outcome") return;
    const fleet::Unit* const unit = fleet_.fleet.unit(event.value("unit", ""));
    if (unit == nullptr || watch_.has_ended(index_of(*unit))) return;
    change::UnitResult result;
    result.unit = unit->name;
    result.what = event.value("what", "");
    for (const Outcome outcome :
         {Outcome::settled, Outcome::nothing_to_do, Outcome::restored, Outcome::refused, Outcome::no_answer,
          Outcome::held, Outcome::needs_attention}) {
      if (change::outcome_name(outcome) == event.value("outcome", "")) result.outcome = outcome;
    }
    watch_.unit_ends(index_of(*unit), result);
  }

  /// Whether the records show a change that has not ended, as a person would see it.
  bool is_unfinished() const {
    for (const std::string& change : disk_.list("changes")) {
      const auto record = disk_.read("changes/" + change + "/change.yaml");
      if (record && record->find("\nended: ") == std::string::npos) return true;
    }
    return false;
  }

  /// True where it came to its end.
  bool recover(bool give_up) {
    trace_.say("recover{}", give_up ? " --give-up" : "");
    const change::World outside = world();
    network_.program_begins();
    change::RecoverOptions options;
    options.who = "the search";
    options.give_up = give_up;
    options.unit_ends = [this](const fleet::Unit& unit, const change::UnitResult& result) {
      unit_ends(index_of(unit), result);
    };
    try {
      for (const change::Recovered& one : change::recover(outside, options)) {
        if (trace_.on)
          trace_.say("change {} {} {}", one.was.change.number, one.ended ? "ended" : "is still unfinished",
                     one.stopped);
        if (one.ended) check_recovered(one);
      }
      return true;
    } catch (const records::DiskError& error) {
      trace_.say("recover ends: {}", error.what());
    } catch (const Killed&) {
      die();
    }
    return false;
  }

  /// What recovery says of the units of a change is on record.
  void check_recovered(const change::Recovered& recovered) {
    const std::string folder = "changes/" + records::change_name(recovered.was.change.number);
    const std::string* const record = disk_.durable(folder + "/change.yaml");
    if (record == nullptr || record->find("\nended: ") == std::string::npos)
      return watch_.breaks(8, "recovery says that the change has ended, and its record on disk does not");
    for (const change::UnitResult& unit : recovered.units) {
      const std::string outcome(change::outcome_name(unit.outcome));
      if (record->find(fmt::format("  {}:\n    outcome: {}\n", unit.unit, outcome)) == std::string::npos)
        watch_.breaks(
            8, fmt::format("recovery tells {} as {}, and change.yaml says otherwise", unit.unit, outcome));
    }
  }

  /// A unit's outcome may have got on record with the next line of another, after its end was told.
  bool is_half_done(std::size_t unit) const {
    for (const records::Unfinished& one : records::unfinished_changes(disk_)) {
      for (const records::HalfDone& half : one.units) {
        if (half.unit == fleet_.fleet.units[unit].name) return true;
      }
    }
    return false;
  }

  /// With the faults gone, recovery ends all that answers and is the unit; the rest is given up.
  void end_what_is_left() {
    network_.kill_at_event = 0;
    recover(false);
    if (watch_.broken()) return;
    if (is_unfinished()) {
      for (std::size_t i = 0; i < agents_.size(); ++i) {
        if (watch_.ours_carried(i) && !watch_.has_ended(i) && !out_of_reach(i) && is_half_done(i))
          return watch_.breaks(
              8, fmt::format("with the faults gone, recovery does not end {}", fleet_.fleet.units[i].name));
      }
      if (std::none_of(agents_.begin(), agents_.end(),
                       [](const Agent& a) { return a.broken_for_good() || a.engine_is_other(); }))
        return watch_.breaks(8, "with the faults gone, recovery does not end the change");
      recover(true);
      if (is_unfinished()) return watch_.breaks(8, "a change that was given up is still unfinished");
    }
    const auto before = disk_.records();
    const std::size_t sets = watch_.sets();
    recover(false);
    if (watch_.sets() != sets) watch_.breaks(8, "recovery was run once more, and sent a SET");
    if (disk_.records() != before) watch_.breaks(8, "recovery was run once more, and changed a record");
  }

  bool out_of_reach(std::size_t i) const {
    return agents_[i].broken_for_good() || agents_[i].engine_is_other() ||
           plan_.units[i].transition_ms > 60000;
  }

  void first() {
    change::ApplyOptions how = options();
    if (plan_.held_after_units >= 0) {
      how.may_go_on = [this] {
        return ended_ >= plan_.held_after_units ? std::string("interrupted") : std::string();
      };
    }
    network_.kill_at_event = plan_.kill_at_event;
    disk_.kill_at_write = plan_.kill_at_write;
    apply(how);
    network_.kill_at_event = disk_.kill_at_write = 0;
    if (!watch_.broken() && is_unfinished() && change::why_not_apply(disk_).empty())
      watch_.breaks(8, "a change has not ended, and apply would begin another");
  }

  void tell_journal(const std::string& octets) {
    std::istringstream lines(octets);
    for (std::string line; std::getline(lines, line);) {
      const std::size_t event = line.find("\"event\":");
      const std::size_t set = line.find(",\"set\":");
      trace_.say("  journal: {}",
                 event == std::string::npos ? line : line.substr(event + 8, set - event - 8));
    }
  }

  /// What was told is what is on record: on stable storage, where the disk did not fail.
  void check_records(const change::ChangeResult& result) {
    if (result.number == 0) return;
    const std::string folder = "changes/" + records::change_name(result.number);
    const std::string* const record = disk_.durable(folder + "/change.yaml");
    const std::string* const journal = disk_.durable(folder + "/journal.jsonl");
    const bool ended = record != nullptr && record->find("\nended: ") != std::string::npos;
    if (!ended && !disk_.failed()) return watch_.breaks(1, "the change is not on record as ended");
    if (!ended && result.stopped.empty())
      return watch_.breaks(1, "the change could not be recorded as ended, and nobody was told");
    for (const change::UnitResult& unit : result.units) {
      const std::string outcome(change::outcome_name(unit.outcome));
      if (ended &&
          record->find(fmt::format("  {}:\n    outcome: {}\n", unit.unit, outcome)) == std::string::npos)
        watch_.breaks(1, fmt::format("{} is told as {}, and change.yaml says otherwise", unit.unit, outcome));
      if (unit.outcome != Outcome::settled && unit.outcome != Outcome::restored &&
          unit.outcome != Outcome::needs_attention)
        continue;
      const std::string line =
          fmt::format("\"event\":\"outcome\",\"unit\":\"{}\",\"outcome\":\"{}\"", unit.unit, outcome);
      const bool there = journal != nullptr && journal->find(line) != std::string::npos;
      if (!there && !unit.records_failed)
        watch_.breaks(
            1, fmt::format("{} is told as {}, and the journal on disk does not say so", unit.unit, outcome));
    }
  }

  void faults_cease() {
    trace_.say("the faults cease");
    disk_.mend();
    network_.weather_is(Weather{});
    for (Agent& agent : agents_) agent.troubles_cease();
  }

  void second() {
    watch_.may_not_end_badly(false);
    const std::string why_not = change::why_not_apply(disk_);
    if (is_unfinished() && why_not.empty())
      return watch_.breaks(8, "a change has not ended, and apply would begin another");
    if (!why_not.empty()) return watch_.breaks(8, "apply refuses with nothing left to recover: " + why_not);
    const bool any_broken = std::any_of(agents_.begin(), agents_.end(),
                                        [](const Agent& agent) { return agent.broken_for_good(); }) ||
                            std::any_of(plan_.units.begin(), plan_.units.end(),
                                        [](const UnitPlan& unit) { return unit.transition_ms > 60000; });
    const auto result = apply(options());
    if (watch_.broken()) return;
    if (!result) return watch_.breaks(7, "a second apply with the faults gone does not end");
    for (std::size_t i = 0; i < agents_.size(); ++i) {
      const change::UnitResult& unit = result->units[i];
      const bool well = unit.outcome == Outcome::settled || unit.outcome == Outcome::nothing_to_do;
      if (well || excused(i, unit, any_broken)) continue;
      watch_.breaks(7, fmt::format("a second apply with the faults gone ends {} as {} ({})", unit.unit,
                                   change::outcome_name(unit.outcome), unit.what));
    }
  }

  /// What a second apply cannot mend: a unit that is broken for good or is another, what the files of the
  /// fleet keep from being set, and who is held because of another.
  bool excused(std::size_t i, const change::UnitResult& unit, bool any_broken) const {
    const Agent& agent = agents_[i];
    if (agent.broken_for_good()) return true;
    if (agent.engine_is_other() && !fleet_.fleet.units[i].engine_id.empty()) return true;
    if (unit.outcome == Outcome::held && any_broken) return true;
    if (plan_.units[i].transition_ms > 60000) return true;
    return !fleet_.allow_cut_off && unit.outcome == Outcome::refused;
  }

  Dice dice_;
  Plan plan_;
  const SmallFleet& fleet_;
  Trace trace_;
  FaultDisk disk_;
  Watch watch_;
  FaultNetwork network_;
  FaultClock clock_;
  const std::function<milliseconds()> now_ = [this] { return network_.now(); };
  std::vector<Agent> agents_;
  records::Engines engines_;
  int ended_ = 0;
};

}  // namespace

std::optional<Broken> run(std::uint64_t seed, bool tell) {
  return Running(seed, tell).run();
}

}  // namespace vergeset::faults
