#include "change/recover.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <utility>

#include "change/in_hand.h"
#include "change/keep.h"
#include "change/mode.h"
#include "change/put_back.h"
#include "change/read_until.h"
#include "change/wait_mode.h"
#include "change/walk.h"
#include "records/mistake.h"

namespace vergeset::change {

namespace {

using records::AnnouncedStep;
using records::makes;
using records::Mistake;
using std::chrono::milliseconds;

/// What a step set, as the model knows it now.
Assignment assignment_of(const fleet::Unit& unit, const records::Announced& set) {
  Assignment one;
  one.name = set.object;
  one.oid = set.oid;
  one.value = set.value;
  if (const schema::Object* object = unit.model->object_at(set.oid); object != nullptr) {
    one.syntax = object->syntax;
    const auto& mode = unit.model->mode;
    one.reads_late = mode && object == mode->asked && object == mode->status;
  } else {
    one.syntax.form = set.value.type == smi::Type::octet_string ? smi::Form::octets : smi::Form::integer;
  }
  one.text = smi::to_text(one.syntax, one.value);
  return one;
}

Step step_of(const fleet::Unit& unit, const AnnouncedStep& announced) {
  Step step;
  if (announced.mode == AnnouncedStep::Mode::standby) step.kind = Step::Kind::go_standby;
  if (announced.mode == AnnouncedStep::Mode::operate) step.kind = Step::Kind::go_operate;
  step.about = announced.about;
  for (const records::Announced& set : announced.sets) step.assignments.push_back(assignment_of(unit, set));
  return step;
}

/// What every instance is to be when all steps are done: the last word on each.
std::map<smi::Oid, Assignment> ends_as(const fleet::Unit& unit, const std::vector<AnnouncedStep>& steps) {
  std::map<smi::Oid, Assignment> last;
  for (const AnnouncedStep& step : steps) {
    for (const records::Announced& set : step.sets) last[set.oid] = assignment_of(unit, set);
  }
  return last;
}

/// One unit of an unfinished change.
class Recovering {
 public:
  Recovering(const World& world, const fleet::Unit& unit, const records::HalfDone& half,
             records::Snapshot snapshot, records::Journal& journal, const SettleOptions& options,
             bool give_up)
      : world_(world),
        unit_(unit),
        half_(half),
        snapshot_(std::move(snapshot)),
        options_(options),
        give_up_(give_up),
        hand_(world, unit, journal, options),
        walk_(hand_, serial_) {}

  /// Its result, and whether that is on record.
  struct Done {
    UnitResult result;
    bool ended = false;
  };
  snmp::Task<Done> run() {
    bool ended = false;
    try {
      ended = co_await recover();
    } catch (const records::DiskError& error) {
      hand_.result().records_failed = true;
      stays(error.what());
    }
    hand_.result().still_off_air = walk_.left_operate().has_value();
    walk_.on_air_again();
    if (ended) co_await hand_.close();
    ended = ended && !hand_.result().unfinished;
    co_return Done{std::move(hand_.result()), ended};
  }

 private:
  /// Nothing is put on record: the next recovery finds the unit as this one did.
  void stays(const std::string& why) {
    hand_.end(Outcome::no_answer,
              fmt::format("{}; still unfinished{}", why,
                          snapshot_.on_air && half_.mode_touched ? ", may be in standby" : ""));
  }

  /// False where it stays unfinished.
  bool out_of_reach(const std::string& why) {
    if (!give_up_) {
      stays(why);
      return false;
    }
    hand_.end(Outcome::needs_attention,
              fmt::format("{}; given up.{} When it answers: vergeset rollback {} {}", why,
                          snapshot_.on_air && half_.mode_touched ? " It may be in standby." : "",
                          options_.change, unit_.name));
    return true;
  }

  snmp::Task<bool> recover() {
    const std::size_t taken_as_unsent = makes(Mistake::recover_trusts_results) ? 1 : 0;
    if (half_.announced.size() <= taken_as_unsent && !half_.restoring && !half_.incomplete) {
      hand_.end(Outcome::held, "the change ended before its first SET");
      co_return true;
    }
    if (makes(Mistake::recover_nothing)) {
      hand_.end(Outcome::restored, "");
      co_return true;
    }
    remember();
    const bool opened = co_await hand_.open();
    if (!opened) co_return out_of_reach(hand_.result().what);
    Wanted wanted = wanted_of_snapshot(world_.fleet, unit_, snapshot_);
    for (const auto& [oid, set] : ends_as(unit_, half_.announced)) wanted.instances.push_back(oid);
    wanted.instances.push_back(SerialNo::instance());
    Surveyed now = co_await hand_.look(std::move(wanted));
    if (!now) co_return out_of_reach(now.error->text);
    const std::string another = hand_.stranger(now.found);
    if (!another.empty()) co_return out_of_reach(another);
    found_ = std::move(now.found);
    serial_.found(found_.at(SerialNo::instance()));
    expect_late_sets();
    if (may_be_finished()) {
      const bool finished = co_await finish();
      if (finished) co_return true;
    }
    const bool restored = co_await restore();
    co_return restored;
  }

  /// What the killed program knew of the unit's mode and of SETs under way.
  void remember() {
    hand_.known_as(snapshot_.engine_id);
    if (half_.mode_touched) walk_.mode_was_touched();
    for (const AnnouncedStep& step : half_.announced) {
      for (const records::Announced& set : step.sets) walk_.was_touched(set.oid);
    }
    for (const smi::Oid& instance : half_.set_back) walk_.was_touched(instance);
    if (half_.incomplete) all_may_be_touched();
    if (snapshot_.on_air && half_.standby_at != 0) {
      const std::int64_t since = std::max<std::int64_t>(0, world_.clock.now() - half_.standby_at);
      walk_.left_operate_at(world_.network.now() - milliseconds(since));
    }
  }

  void all_may_be_touched() {
    walk_.mode_was_touched();
    for (const smi::Oid& instance : instances_of(*unit_.model, snapshot_)) walk_.was_touched(instance);
  }

  void expect_late_sets() {
    constexpr std::int64_t time_window = 150000;  // RFC 3414 2.2.3
    const std::int64_t rest = half_.last_step_at + time_window - world_.clock.now();
    const milliseconds until =
        world_.network.now() + milliseconds(std::clamp<std::int64_t>(rest, 0, time_window));
    walk_.may_come(until);
    if (half_.unnumbered) walk_.unnumbered_may_come(until);
  }

  /// Every step may have been sent, and nothing was taken back.
  bool may_be_finished() const {
    return !half_.restoring && !half_.incomplete && half_.announced.size() == half_.steps && half_.steps > 0;
  }

  /// True where the unit is as the change wanted it, at the most by its last step. The steps before were
  /// acknowledged, which says little: they are read.
  snmp::Task<bool> finish() {
    const Step last = step_of(unit_, half_.announced.back());
    for (const auto& [oid, set] : ends_as(unit_, half_.announced)) {
      const bool of_last = std::any_of(last.assignments.begin(), last.assignments.end(),
                                       [&oid = oid](const Assignment& one) { return one.oid == oid; });
      if (!of_last && !set.carried_out(found_.at(oid))) co_return false;
    }
    const auto done = [&](const Assignment& one) { return one.carried_out(found_.at(one.oid)); };
    if (!std::all_of(last.assignments.begin(), last.assignments.end(), done) ||
        last.kind != Step::Kind::set) {
      const Sequence rest{{last}, false, false};
      const std::string failure = co_await walk_.take(rest, Walk::Way::back, found_);
      if (!failure.empty()) co_return false;
    }
    for (int readings = 0; readings < most_readings; ++readings) {
      const bool as_wanted = co_await verify();
      if (!as_wanted) co_return false;
      const std::optional<std::string> closed = co_await walk_.let_none_in();
      if (!closed) break;
      if (!closed->empty()) co_return false;
    }
    hand_.end(Outcome::settled, "finished by vergeset recover");
    co_await keep_as_left(hand_, snapshot_);
    co_return true;
  }

  snmp::Task<bool> verify() {
    const std::map<smi::Oid, Assignment> all = ends_as(unit_, half_.announced);
    std::vector<smi::Oid> instances;
    for (const auto& [oid, set] : all) instances.push_back(oid);
    if (unit_.model->mode) {
      instances.push_back(unit_.model->mode->asked->oid.child(0));
      instances.push_back(unit_.model->mode->status->oid.child(0));
    }
    const milliseconds until = world_.network.now() + std::chrono::seconds(world_.fleet.mode_wait_s);
    const Surveyed now = co_await read_until(world_.network, hand_.link(), std::move(instances), until);
    if (!now) co_return false;
    judge(world_.fleet, unit_, now.found, hand_.result());
    const ModeFound mode = mode_of(*unit_.model, now.found);
    if (mode.operate) walk_.on_air_again();
    if (mode.known && unreached_mode(*unit_.model, now.found, mode.asked)) co_return false;
    co_return std::all_of(all.begin(), all.end(),
                          [&](const auto& one) { return one.second.carried_out(now.found.at(one.first)); });
  }

  /// False where it stays unfinished.
  snmp::Task<bool> restore() {
    const std::string why = "the change was broken off";
    const std::uint64_t line = hand_.add_restore(why);
    co_await hand_.on_disk(line);
    PutBack put_back(hand_, walk_, serial_, snapshot_, nullptr);
    const std::string failure = co_await put_back.run();
    if (failure.empty()) {
      hand_.end(Outcome::restored, why);
      co_return true;
    }
    if (put_back.out_of_reach() || walk_.silent()) co_return out_of_reach(failure);
    const std::string mode = co_await put_back.last_word();
    hand_.end(Outcome::needs_attention,
              fmt::format("{}; putting it back failed: {}.{} Mend the cause, then: vergeset rollback {} {}",
                          why, failure, mode, options_.change, unit_.name));
    co_return true;
  }

  const World& world_;
  const fleet::Unit& unit_;
  const records::HalfDone& half_;
  records::Snapshot snapshot_;
  const SettleOptions& options_;
  bool give_up_;
  InHand hand_;
  SerialNo serial_;
  Walk walk_;
  AsFound found_;
};

/// One unfinished change.
class Change {
 public:
  Change(const World& world, const RecoverOptions& options, records::Unfinished was)
      : world_(world),
        options_(options),
        journal_(records::Journal::resume(world.disk, world.clock,
                                          records::change_path(was.change.number, "journal.jsonl"))) {
    out_.was = std::move(was);
    settle_.change = out_.was.change.number;
    settle_.allow_cut_off = true;
    settle_.watcher = options.watcher;
    settle_.purpose = "recover change " + records::change_name(settle_.change);
  }

  Recovered run() {
    out_.units.resize(out_.was.units.size());
    try {
      journal_.write({{"event", "recover"}, {"change", settle_.change}, {"who", options_.who}});
      world_.network.run_each(
          out_.units.size(), [this](std::size_t i) { return one(i); }, options_.at_once);
      end();
    } catch (const records::DiskError& error) {
      out_.stopped = error.what();
    }
    return std::move(out_);
  }

 private:
  snmp::Task<void> one(std::size_t i) {
    const records::HalfDone& half = out_.was.units[i];
    UnitResult& result = out_.units[i];
    result.unit = half.unit;
    if (out_.stopped.empty() && options_.may_go_on) out_.stopped = options_.may_go_on();
    if (!out_.stopped.empty()) {
      result.what = out_.stopped;
      out_.unfinished.push_back(half.unit);
      co_return;
    }
    const fleet::Unit* unit = world_.fleet.unit(half.unit);
    if (out_.was.change.kind == "rekey" && unit != nullptr) {
      co_await end_keys(*unit, half, result);
      co_return;
    }
    std::string problem;
    std::optional<records::Snapshot> snapshot = snapshot_of(half.unit, unit, problem);
    if (!snapshot) {
      no_way(problem, result);
      co_return;
    }
    Recovering recovering(world_, *unit, half, *std::move(snapshot), journal_, settle_, options_.give_up);
    Recovering::Done done = co_await recovering.run();
    result = std::move(done.result);
    if (!done.ended) out_.unfinished.push_back(half.unit);
    if (options_.unit_ends) options_.unit_ends(*unit, result);
  }

  snmp::Task<void> end_keys(const fleet::Unit& unit, const records::HalfDone& half, UnitResult& result) {
    if (!options_.keys) {
      no_way("its keys were being changed, and no key store is named in fleet.yaml", result);
      co_return;
    }
    bool unfinished = false;
    result = co_await options_.keys(unit, half, settle_.change, journal_, unfinished);
    if (unfinished) out_.unfinished.push_back(half.unit);
    if (options_.unit_ends) options_.unit_ends(unit, result);
  }

  /// The unit cannot be put back by these files and records.
  void no_way(const std::string& problem, UnitResult& result) {
    result.outcome = options_.give_up ? Outcome::needs_attention : Outcome::refused;
    result.what = problem + (options_.give_up ? "; given up" : "; still unfinished");
    if (!options_.give_up) return out_.unfinished.push_back(result.unit);
    journal_.write({{"event", "outcome"},
                    {"unit", result.unit},
                    {"outcome", outcome_name(result.outcome)},
                    {"what", result.what}});
  }

  /// The change is over once all of its units are.
  void end() {
    if (!out_.unfinished.empty()) return;
    records::ChangeRecord ended = out_.was.change;
    for (records::UnitOutcome& unit : ended.units) note(unit);
    journal_.write({{"event", "end"}, {"change", settle_.change}, {"stopped", "broken off; recovered"}});
    ended.ended = records::stamp(world_.clock.now());
    world_.disk.write_whole(records::change_path(settle_.change, "change.yaml"), to_yaml(ended));
    out_.ended = true;
  }

  void note(records::UnitOutcome& unit) const {
    const auto found = std::find_if(out_.units.begin(), out_.units.end(),
                                    [&](const UnitResult& one) { return one.unit == unit.unit; });
    if (found == out_.units.end()) return;
    unit.outcome = outcome_name(found->outcome);
    unit.what = found->what;
    unit.steps += found->steps_done;
    unit.off_air_ms = found->off_air.count();
  }

  /// The unit as found; nothing, and why, where it cannot be put back by these files and records.
  std::optional<records::Snapshot> snapshot_of(const std::string& name, const fleet::Unit* unit,
                                               std::string& problem) const {
    if (unit == nullptr) {
      problem = "no longer in this fleet's files; put its entry back";
      return std::nullopt;
    }
    const std::string path = records::change_path(settle_.change, name + ".snapshot.yaml");
    const auto text = world_.disk.read(path);
    if (!text) {
      problem = "its snapshot is missing: " + path;
      return std::nullopt;
    }
    auto snapshot = records::snapshot_from_yaml(*text);
    if (!snapshot) {
      problem = fmt::format("{}: {}", path, snapshot.problem());
      return std::nullopt;
    }
    if (snapshot->model != unit->model->name) {
      problem = fmt::format("was {} then, the inventory says {} now", snapshot->model, unit->model->name);
      return std::nullopt;
    }
    return *std::move(snapshot);
  }

  const World& world_;
  const RecoverOptions& options_;
  records::Journal journal_;
  SettleOptions settle_;
  Recovered out_;
};

}  // namespace

std::string why_not_apply(const records::Disk& disk) {
  if (makes(Mistake::apply_over_unfinished)) return {};
  std::string which;
  for (const records::Unfinished& one : records::unfinished_changes(disk)) {
    which += fmt::format("{}change {} ({}, by {}, begun {})", which.empty() ? "" : "; ",
                         records::change_name(one.change.number), one.change.kind, one.change.who,
                         one.change.begun);
  }
  if (which.empty()) return {};
  return which + " has not ended; first: vergeset recover";
}

std::vector<Recovered> recover(const World& world, const RecoverOptions& options) {
  std::vector<Recovered> all;
  for (records::Unfinished& one : records::unfinished_changes(world.disk)) {
    all.push_back(Change(world, options, std::move(one)).run());
  }
  return all;
}

}  // namespace vergeset::change
