#include "change/rehearse.h"

#include <fmt/format.h>

#include <algorithm>

#include "change/survey.h"
#include "records/change_record.h"
#include "records/scratch_disk.h"

namespace vergeset::change {

namespace {

/// A twin's records: of its change and of what undoes it.
constexpr int the_change = 1;
constexpr int the_rollback = 2;

bool same(const Step& a, const Step& b) {
  return a.kind == b.kind && std::equal(a.assignments.begin(), a.assignments.end(), b.assignments.begin(),
                                        b.assignments.end(), [](const Assignment& x, const Assignment& y) {
                                          return x.oid == y.oid && x.value == y.value;
                                        });
}

bool same(const Sequence& a, const Sequence& b) {
  return std::equal(a.steps.begin(), a.steps.end(), b.steps.begin(), b.steps.end(),
                    [](const Step& x, const Step& y) { return same(x, y); });
}

std::string told(const UnitResult& result) {
  return result.what.empty() ? std::string(outcome_name(result.outcome)) : result.what;
}

/// One twin, with records of its own.
class Twin {
 public:
  Twin(const World& world, const fleet::Unit& unit, bool allow_cut_off)
      : world_{world.network, disk_, world.clock, world.fleet, world.principal_of, nullptr, nullptr},
        unit_(unit),
        allow_cut_off_(allow_cut_off) {}

  snmp::Task<Surveyed> look() {
    snmp::Opened opened = co_await open_link(world_, unit_);
    if (!opened) {
      Surveyed nothing;
      nothing.error = opened.error;
      co_return nothing;
    }
    Wanted wanted = wanted_whole(*unit_.model);
    Surveyed surveyed = co_await survey(*opened.link, std::move(wanted));
    co_return surveyed;
  }

  snmp::Task<UnitResult> settle_as(const Goal& goal, int number) {
    records::Journal journal(disk_, world_.clock, records::change_path(number, "journal.jsonl"));
    const SettleOptions options{number, allow_cut_off_, {}};
    UnitResult result = co_await settle(world_, unit_, goal, journal, options);
    co_return result;
  }

  /// The goal of a rollback of its change.
  Result<Goal> goal_back() const {
    const auto snapshot = kept(".snapshot.yaml");
    if (!snapshot) return Problem{snapshot.problem()};
    const auto left = kept(".left.yaml");
    if (!left) return Problem{left.problem()};
    return goal_of_snapshot(world_.fleet, unit_, *snapshot, *left, "the rehearsal, as found", false);
  }

 private:
  Result<records::Snapshot> kept(const std::string& ending) const {
    const auto text = disk_.read(records::change_path(the_change, unit_.name + ending));
    if (!text) return Problem{"its change left no " + unit_.name + ending};
    return records::snapshot_from_yaml(*text);
  }

  records::ScratchDisk disk_;
  World world_;
  const fleet::Unit& unit_;
  bool allow_cut_off_;
};

class Rehearsing {
 public:
  Rehearsing(const World& world, const UnitGoal& goal, const Sequence& planned, const TwinPair& twins,
             bool allow_cut_off)
      : goal_(goal),
        planned_(planned),
        willing_(world, twins.willing, allow_cut_off),
        refusing_(world, twins.refusing, allow_cut_off) {
    out_.unit = goal.unit->name;
    out_.steps = planned.steps.size();
  }

  snmp::Task<Rehearsal> run() {
    out_.what = co_await change();
    if (out_.passed()) out_.what = co_await roll_back();
    if (out_.passed()) out_.what = co_await restore();
    co_return std::move(out_);
  }

 private:
  snmp::Task<std::string> change() {
    Surveyed before = co_await willing_.look();
    if (!before) co_return "its twin cannot be read: " + before.error->text;
    before_ = std::move(before.found);
    const UnitResult result = co_await willing_.settle_as(goal_.goal, the_change);
    if (result.outcome != Outcome::settled) co_return told(result);
    if (!same(result.sequence, planned_))
      co_return "the steps on its twin are not those of the unit: it changed while it was read; try again";
    out_.verified = true;
    co_return std::string();
  }

  snmp::Task<std::string> roll_back() {
    const Result<Goal> back = willing_.goal_back();
    if (!back) co_return "rolling back: " + back.problem();
    const UnitResult result = co_await willing_.settle_as(*back, the_rollback);
    if (result.outcome != Outcome::settled) co_return "rolling back: " + told(result);
    const std::string unlike = co_await unlike_before(willing_);
    if (!unlike.empty()) co_return "rolled back, " + unlike;
    out_.rolled_back = true;
    co_return std::string();
  }

  snmp::Task<std::string> restore() {
    const UnitResult result = co_await refusing_.settle_as(goal_.goal, the_change);
    if (result.outcome != Outcome::restored)
      co_return fmt::format("after a refused step: {}, not restored{}", outcome_name(result.outcome),
                            result.what.empty() ? "" : ": " + result.what);
    const std::string unlike = co_await unlike_before(refusing_);
    if (!unlike.empty()) co_return "restored after a refused step, " + unlike;
    out_.restored = true;
    co_return std::string();
  }

  snmp::Task<std::string> unlike_before(Twin& twin) {
    const Surveyed now = co_await twin.look();
    if (!now) co_return "it cannot be read: " + now.error->text;
    std::string unlike = first_unlike(*goal_.unit, before_, now.found);
    co_return unlike;
  }

  const UnitGoal& goal_;
  const Sequence& planned_;
  Twin willing_;
  Twin refusing_;
  AsFound before_;
  Rehearsal out_;
};

/// What a unit differs in, exactly.
std::string fingerprint(const std::vector<Difference>& differences) {
  std::string text;
  for (const Difference& difference : differences) {
    text +=
        fmt::format("{} {} {}\n", static_cast<int>(difference.kind), difference.name, difference.row.index);
    for (const Item& item : difference.items)
      text += fmt::format("{} {} {}\n", item.oid.str(), smi::exact_text(item.as_found),
                          smi::exact_text(item.desired));
  }
  return text;
}

}  // namespace

snmp::Task<Rehearsal> rehearse(const World& world, const UnitGoal& goal, const Sequence& planned,
                               const TwinPair& twins, bool allow_cut_off) {
  const std::chrono::milliseconds began = world.network.now();
  Rehearsing rehearsing(world, goal, planned, twins, allow_cut_off);
  Rehearsal rehearsal = co_await rehearsing.run();
  rehearsal.took = world.network.now() - began;
  co_return rehearsal;
}

Goal as_rehearsed(const Goal& goal, const std::vector<Difference>& differences) {
  Goal same_goal = goal;
  same_goal.objection = [compare = goal.compare, objection = goal.objection,
                         rehearsed =
                             fingerprint(differences)](const AsFound& found) -> std::optional<std::string> {
    auto other = objection ? objection(found) : std::nullopt;
    if (other) return other;
    if (fingerprint(compare(found).differences) == rehearsed) return std::nullopt;
    return "no longer as it was rehearsed: it was changed in the meantime. Rehearse it anew";
  };
  return same_goal;
}

}  // namespace vergeset::change
