#include "change/settle.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "change/carry_out.h"
#include "change/identify.h"
#include "change/keep.h"
#include "change/logged_link.h"
#include "change/mode.h"
#include "change/survey.h"
#include "change/wait_mode.h"
#include "records/change_record.h"
#include "records/unit_log.h"

namespace vergeset::change {

namespace {

using std::chrono::milliseconds;

std::string to_json(const Step& step, const AsFound& found) {
  std::string sets = "[";
  for (const Assignment& one : step.assignments) {
    const smi::Value& was = found.at(one.oid);
    records::JsonLine set;
    set.text("object", one.name).text("oid", one.oid.str());
    set.text("type", smi::type_name(one.value.type)).text("value", smi::exact_text(one.value));
    set.text("was_type", smi::type_name(was.type)).text("was", smi::exact_text(was));
    sets += (sets.size() > 1 ? "," : "") + set.str();
  }
  return sets + "]";
}

class Settling {
 public:
  Settling(const World& world, const fleet::Unit& unit, const Goal& goal, records::Journal& journal,
           const SettleOptions& options)
      : world_(world),
        unit_(unit),
        goal_(goal),
        journal_(journal),
        options_(options),
        log_(world.disk, world.clock, unit.name, "change " + records::change_name(options.change)) {
    result_.unit = unit.name;
  }

  snmp::Task<UnitResult> run() {
    try {
      const bool ready = co_await begin();
      if (ready) {
        co_await change();
      }
    } catch (const records::DiskError& error) {
      records_fail(error);
    }
    result_.still_off_air = left_operate_.has_value();
    on_air_again();
    try {
      co_await on_disk(add_outcome());
      log_.flush();
    } catch (const records::DiskError&) {
      result_.records_failed = true;
    }
    co_return std::move(result_);
  }

 private:
  /// Nothing is sent that is not on record first, so what is under way ends here.
  void records_fail(const records::DiskError& error) {
    result_.records_failed = true;
    if (!announced_) return end(Outcome::refused, fmt::format("{}; no SET was sent", error.what()));
    end(Outcome::needs_attention,
        fmt::format("{}; it was left after {} of {} steps{}. Free the disk, then: vergeset rollback {} {}",
                    error.what(), result_.steps_done, result_.sequence.steps.size(),
                    left_operate_ ? ", in standby" : "", options_.change, unit_.name));
  }

  /// All that was added to the journal is on disk when this ends. Units that come here in one turn of the
  /// loop are served by one sync.
  snmp::Task<void> on_disk(std::uint64_t line) {
    co_await world_.network.sleep(milliseconds(0));
    if (journal_.on_disk() < line) journal_.sync();
  }

  // What these return is to be awaited by on_disk().
  std::uint64_t add_outcome() {
    log_.line("ends " + std::string(outcome_name(result_.outcome)) +
              (result_.what.empty() ? "" : ": " + result_.what));
    return journal_.add(event("outcome")
                            .text("outcome", outcome_name(result_.outcome))
                            .text("what", result_.what)
                            .number("off_air_ms", result_.off_air.count()));
  }

  std::uint64_t add_begin() {
    world_.disk.write_whole(path(unit_.name + ".snapshot.yaml"), to_yaml(snapshot_),
                            records::Durable::contents);
    journal_.with_file();
    return journal_.add(event("begin unit")
                            .text("engine_id", smi::to_hex(found_.engine_id))
                            .number("steps", static_cast<std::int64_t>(result_.sequence.steps.size())));
  }

  std::uint64_t add_step(std::string_view name, std::size_t number, const Step& step) {
    announced_ = true;
    return journal_.add(event(name)
                            .number("number", static_cast<std::int64_t>(number))
                            .text("about", step.about)
                            .flag("in_standby", step.standby)
                            .json("set", to_json(step, found_)));
  }

  /// On disk with the unit's next line: nothing rests on it.
  void add_result(std::size_t number, const std::string& failure) {
    journal_.add(event("result")
                     .number("number", static_cast<std::int64_t>(number))
                     .text("result", failure.empty() ? "done" : failure));
  }

  std::uint64_t add_restore(const std::string& why) {
    log_.line("failed: " + why + "; going back to as found");
    return journal_.add(event("restore").text("why", why));
  }

  records::JsonLine event(std::string_view name) const {
    records::JsonLine line;
    line.text("event", name).text("unit", unit_.name);
    return line;
  }

  void end(Outcome outcome, std::string what) {
    result_.outcome = outcome;
    result_.what = std::move(what);
  }

  void say(const std::string& what) const {
    if (options_.watcher.says) options_.watcher.says(unit_, what);
  }

  snmp::Task<bool> open() {
    snmp::Opened opened = co_await open_link(world_, unit_);
    if (!opened) {
      log_.line("no link: " + opened.error.text);
      end(Outcome::no_answer, opened.error.text);
      co_return false;
    }
    link_ = std::make_unique<LoggedLink>(std::move(opened.link), log_, *unit_.model);
    co_return true;
  }

  /// Reads the goal's objects; the time of reading is put on them.
  snmp::Task<Surveyed> look() {
    Surveyed surveyed = co_await survey(*link_, goal_.wanted);
    surveyed.found.taken = records::stamp(world_.clock.now());
    co_return surveyed;
  }

  /// Everything before the first SET. False where the unit's change ends here.
  snmp::Task<bool> begin() {
    const bool opened = co_await open();
    if (!opened) co_return false;
    Surveyed surveyed = co_await look();
    if (!surveyed) {
      end(Outcome::no_answer, surveyed.error->text);
      co_return false;
    }
    remember_engine(world_, unit_, *link_);
    found_ = std::move(surveyed.found);
    if (const auto wrong = wrong_unit(world_.fleet, unit_, found_)) {
      end(Outcome::refused, "wrong unit: " + *wrong);
      co_return false;
    }
    Comparison comparison = goal_.compare(found_);
    result_.remarks = std::move(comparison.remarks);
    result_.differences = std::move(comparison.differences);
    if (!comparison.obstacles.empty()) {
      end(Outcome::refused, comparison.obstacles.front());
      co_return false;
    }
    if (result_.differences.empty()) {
      judge(found_);
      end(Outcome::nothing_to_do, "");
      co_return false;
    }
    const bool prepared = co_await prepare();
    co_return prepared;
  }

  /// Reads what a snapshot needs beside, works out the steps, and puts both on disk.
  snmp::Task<bool> prepare() {
    const auto objection = goal_.objection ? goal_.objection(found_) : std::nullopt;
    if (objection) {
      end(Outcome::refused, *objection);
      co_return false;
    }
    Surveyed rest = co_await read(*link_, to_keep(*unit_.model, result_.differences));
    if (!rest) {
      end(Outcome::no_answer, rest.error->text);
      co_return false;
    }
    for (auto& [instance, value] : rest.found.instances) found_.instances[instance] = std::move(value);
    fill_whole_rows(unit_, found_, result_.differences);
    const ModeFound mode = mode_of(*unit_.model, found_);
    result_.sequence = goal_.reviewed ? *goal_.reviewed : sequence(*unit_.model, result_.differences, mode);
    for (const Step& step : result_.sequence.steps) {
      if (!step.cuts_off || options_.allow_cut_off) continue;
      end(Outcome::refused,
          fmt::format("{} can cut this manager off: add --allow-cut-off to set it", step.about));
      co_return false;
    }
    snapshot_ = keep(unit_, found_, result_.differences);
    co_await on_disk(add_begin());
    co_return true;
  }

  std::string path(const std::string& name) const { return records::change_path(options_.change, name); }

  snmp::Task<void> change() {
    const std::string failure = co_await walk(result_.sequence, "step", false);
    if (failure.empty()) {
      const std::string unlike = co_await verify();
      if (unlike.empty()) {
        co_await leave();
        end(Outcome::settled, "");
        co_return;
      }
      co_await restore(unlike);
      co_return;
    }
    co_await restore(failure);
  }

  /// Carries out a sequence; empty, or the first failure. It stops there, or goes on as far as the unit
  /// answers: what cannot be put back must not keep the rest from it, least of all operate.
  snmp::Task<std::string> walk(const Sequence& sequence, std::string_view event, bool goes_on) {
    std::string first;
    for (std::size_t i = 0; i < sequence.steps.size(); ++i) {
      const Step& step = sequence.steps[i];
      co_await on_disk(add_step(event, i + 1, step));
      say(step.about);
      const std::string failure = co_await take(step);
      add_result(i + 1, failure);
      if (failure.empty()) {
        ++result_.steps_done;
        continue;
      }
      if (first.empty())
        first = fmt::format("step {} of {}, {}: {}", i + 1, sequence.steps.size(), step.about, failure);
      if (!goes_on || silent_) break;
    }
    co_return first;
  }

  snmp::Task<std::string> take(const Step& step) {
    if (step.kind == Step::Kind::go_standby) {
      if (!left_operate_ && mode_of(*unit_.model, found_).operate) left_operate_ = world_.network.now();
      mode_touched_ = true;
    }
    const Carried carried = co_await carry_out(*link_, step.assignments);
    silent_ = carried.end == Carried::End::silent;
    if (carried.end == Carried::End::silent && step.cuts_off) {
      std::string gone = co_await open_again();
      co_return gone;
    }
    if (carried.end != Carried::End::done) co_return carried.what;
    if (step.kind == Step::Kind::set) co_return std::string();
    const bool operate = step.kind == Step::Kind::go_operate;
    const std::string failure = co_await wait_for_mode(world_.network, *link_, *unit_.model->mode, operate,
                                                       std::chrono::seconds(world_.fleet.mode_wait_s));
    if (operate && failure.empty()) on_air_again();
    co_return failure;
  }

  /// What cuts the manager off may do so before its response: the unit is sought anew where the
  /// inventory says it is.
  snmp::Task<std::string> open_again() {
    const bool opened = co_await open();
    if (opened) co_return std::string();
    co_return "no answer where the inventory has the unit: " + result_.what;
  }

  void on_air_again() {
    if (!left_operate_) return;
    result_.off_air += world_.network.now() - *left_operate_;
    left_operate_.reset();
  }

  /// Reads the unit anew; empty, or what is not as desired.
  snmp::Task<std::string> verify() {
    Surveyed surveyed = co_await look();
    if (!surveyed) co_return "no answer to verification: " + surveyed.error->text;
    const Comparison comparison = goal_.compare(surveyed.found);
    judge(surveyed.found);
    if (comparison.agrees()) co_return std::string();
    if (comparison.differences.empty()) co_return comparison.obstacles.front();
    const Difference& first = comparison.differences.front();
    const std::string is = first.items.empty() ? "still there" : first.items.front().as_found_text();
    co_return fmt::format("read back, {} is {}, not as desired{}", first.title(), is,
                          comparison.differences.size() > 1
                              ? fmt::format(" (and {} more)", comparison.differences.size() - 1)
                              : "");
  }

  void judge(const AsFound& found) {
    result_.health = checks::health(
        *unit_.model, [&](const smi::Oid& instance) -> const smi::Value& { return found.at(instance); });
  }

  /// Keeps what the change touched, as left: a rollback compares against it.
  snmp::Task<void> leave() {
    Surveyed surveyed = co_await read(*link_, instances_of(*unit_.model, snapshot_));
    if (!surveyed) co_return;
    surveyed.found.taken = records::stamp(world_.clock.now());
    world_.disk.write_whole(path(unit_.name + ".left.yaml"),
                            to_yaml(retake(unit_, snapshot_, surveyed.found)), records::Durable::no);
  }

  /// Puts the unit back as found, in reverse, and verifies.
  snmp::Task<void> restore(std::string why) {
    co_await on_disk(add_restore(why));
    say("failed; going back to as found");
    std::string failure = co_await put_back();
    if (failure.empty()) failure = co_await verify_restored();
    if (failure.empty()) {
      end(Outcome::restored, why);
      co_return;
    }
    const std::string mode = co_await mode_now();
    end(Outcome::needs_attention,
        fmt::format("{}; putting it back failed too: {}.{} Mend the cause, then: vergeset rollback {} {}",
                    why, failure, mode, options_.change, unit_.name));
  }

  /// " It is in standby." where it was on air and is no longer, as far as it tells.
  snmp::Task<std::string> mode_now() {
    if (!left_operate_) co_return std::string();
    const records::Snapshot mode_alone;
    std::vector<smi::Oid> instances = instances_of(*unit_.model, mode_alone);
    const Surveyed now = co_await read(*link_, std::move(instances));
    if (!now) co_return std::string(" It may be in standby.");
    const ModeFound mode = mode_of(*unit_.model, now.found);
    if (mode.operate) on_air_again();
    co_return mode.standby ? std::string(" It is in standby.") : std::string();
  }

  snmp::Task<std::string> put_back() {
    Surveyed now = co_await read(*link_, instances_of(*unit_.model, snapshot_));
    if (!now) co_return now.error->text;
    at_first_ = std::exchange(found_, std::move(now.found));
    std::vector<Difference> differences = differences_to(unit_, snapshot_, found_, "as found");
    fill_whole_rows(unit_, found_, differences);
    Sequence back = sequence(*unit_.model, differences, mode_of(*unit_.model, found_), Order::reverse);
    operate_at_the_end(back);
    std::string failure = co_await walk(back, "restore step", true);
    co_return failure;
  }

  /// A transition to standby that we asked for may still be under way while the mode reads operate (RSU
  /// 4.1 has one object for both), so operate is asked for again whenever we touched the mode.
  void operate_at_the_end(Sequence& back) const {
    if (!mode_touched_ || !unit_.model->mode) return;
    const bool already = !back.steps.empty() && back.steps.back().kind == Step::Kind::go_operate;
    const smi::Oid mode = unit_.model->mode->asked->oid.child(0);
    for (const records::Kept& kept : snapshot_.values) {
      const bool was_operate = kept.oid == mode && kept.value.number == unit_.model->mode->operate;
      if (was_operate && !already) back.steps.push_back(mode_step(*unit_.model->mode, true));
    }
  }

  snmp::Task<std::string> verify_restored() {
    Surveyed now = co_await read(*link_, instances_of(*unit_.model, snapshot_));
    if (!now) co_return now.error->text;
    judge(now.found);
    const std::vector<Difference> differences = differences_to(unit_, snapshot_, now.found, "as found");
    if (!differences.empty()) co_return fmt::format("{} is not as found", differences.front().title());
    Surveyed all = co_await look();
    if (!all) co_return all.error->text;
    all.found.instances.merge(now.found.instances);
    co_return lost(all.found);
  }

  /// What else was read at first and is another now though no step touched it: a unit that rebooted may have
  /// forgotten more than the change is about.
  std::string lost(const AsFound& now) const {
    std::string first;
    std::size_t count = 0;
    for (const auto& [instance, value] : at_first_.instances) {
      const schema::Object* object = unit_.model->object_at(instance);
      if (object == nullptr || !object->configuration() || unit_.desired.traits_of(*object).running) continue;
      const auto found = now.instances.find(instance);
      if (found == now.instances.end()) {
        if (value.absent() || object->table == nullptr) continue;  // a row that is gone, else not asked again
      } else if (value.absent() == found->second.absent() &&
                 (value.absent() || smi::agree(object->syntax, value, found->second))) {
        continue;
      }
      if (count++ == 0) first = unit_.model->name_of(instance);
    }
    if (count == 0) return {};
    return fmt::format("{}{} not as found though no step touched {}; see: vergeset audit {}", first,
                       count == 1 ? " is" : fmt::format(" and {} more are", count - 1),
                       count == 1 ? "it" : "them", unit_.name);
  }

  const World& world_;
  const fleet::Unit& unit_;
  const Goal& goal_;
  records::Journal& journal_;
  const SettleOptions& options_;
  records::UnitLog log_;
  UnitResult result_;
  std::unique_ptr<snmp::Link> link_;
  AsFound found_;
  AsFound at_first_;
  records::Snapshot snapshot_;
  std::optional<milliseconds> left_operate_;
  bool mode_touched_ = false;
  bool announced_ = false;  ///< a step is in the journal: a SET may have been sent
  bool silent_ = false;     ///< the last SET got no answer, nor did reading it back
};

bool speaks_of_user(snmp::Failure failure) {
  return failure == snmp::Failure::unknown_user || failure == snmp::Failure::wrong_auth ||
         failure == snmp::Failure::wrong_privacy || failure == snmp::Failure::bad_level;
}

std::int64_t seconds_now(const World& world) {
  return world.clock.now() / 1000;
}

std::optional<snmp::Engine> remembered_engine(const World& world, const fleet::Unit& unit) {
  if (world.engines == nullptr) return std::nullopt;
  const auto known = world.engines->find(unit.name);
  if (!known) return std::nullopt;
  constexpr std::int64_t latest = 2147483647;  // of snmpEngineTime (RFC 3414 2.2)
  const std::int64_t time = std::clamp<std::int64_t>(seconds_now(world) - known->started, 0, latest);
  return snmp::Engine{known->id, known->boots, static_cast<std::uint32_t>(time)};
}

/// " (user vergeset, credential larkmoor)"
std::string user_of(const fleet::Fleet& fleet, const fleet::Unit& unit) {
  const auto credential = fleet.credentials.find(unit.credential);
  if (credential == fleet.credentials.end()) return {};
  return fmt::format(" (user {}, credential {})", credential->second.user, unit.credential);
}

}  // namespace

snmp::Task<snmp::Opened> open_link(const World& world, const fleet::Unit& unit) {
  snmp::Endpoint endpoint{unit.host, unit.port, world.fleet.timeout_ms, world.fleet.retries,
                          remembered_engine(world, unit)};
  std::shared_ptr<const snmp::UserKeys> keys = world.keys_of(unit);
  snmp::Opened opened = co_await world.network.open(std::move(endpoint), std::move(keys));
  if (!opened && speaks_of_user(opened.error.failure)) opened.error.text += user_of(world.fleet, unit);
  co_return opened;
}

void remember_engine(const World& world, const fleet::Unit& unit, const snmp::Link& link) {
  if (world.engines == nullptr) return;
  const snmp::Engine engine = link.engine();
  if (!engine.id.empty()) {
    world.engines->note(unit.name, {engine.id, engine.boots, seconds_now(world) - engine.time});
  }
}

snmp::Task<UnitResult> settle(const World& world, const fleet::Unit& unit, const Goal& goal,
                              records::Journal& journal, const SettleOptions& options) {
  Settling settling(world, unit, goal, journal, options);
  UnitResult result = co_await settling.run();
  co_return result;
}

}  // namespace vergeset::change
