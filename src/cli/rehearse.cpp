#include "cli/rehearse.h"

#include <algorithm>
#include <iterator>
#include <stdexcept>

#include "change/audit.h"
#include "cli/twins.h"

namespace vergeset::cli {

namespace {

using change::Outcome;
using change::Preview;
using change::Rehearsal;

/// So many units are rehearsed side by side, each on two twins: what is in memory at a time, and what the
/// machine can serve without any of them being late.
constexpr std::size_t batch_size = 32;

/// One unit of a batch.
struct Part {
  std::size_t at = 0;  ///< among the goals
  change::AsFound whole;
  Rehearsal rehearsal;
  change::TwinPair twins{};
};

class Batch {
 public:
  Batch(Live& live, const std::vector<change::UnitGoal>& goals, const std::vector<Preview>& previews,
        const RehearseOptions& options, const TwinUser& user, std::vector<Part> parts)
      : live_(live),
        goals_(goals),
        previews_(previews),
        options_(options),
        user_(user),
        parts_(std::move(parts)) {}

  std::vector<Part> run() {
    survey();
    std::vector<std::size_t> all;
    for (std::size_t i = 0; i < parts_.size(); ++i) {
      if (parts_[i].rehearsal.passed()) all.push_back(i);
    }
    if (all.empty()) return std::move(parts_);
    // One twin that cannot be served keeps the others of its batch from it: then each is tried alone.
    const bool alone = all.size() == 1;
    if (!carry_out(all, alone) && !alone) {
      for (const std::size_t i : all) carry_out({i}, true);
    }
    return std::move(parts_);
  }

 private:
  const Preview& preview(const Part& part) const { return previews_[part.at]; }

  void survey() {
    std::vector<const fleet::Unit*> units;
    for (const Part& part : parts_) units.push_back(goals_[part.at].unit);
    std::vector<change::Audited> read = change::read_units(live_.world, units, true, options_.pace.at_once);
    for (std::size_t i = 0; i < parts_.size(); ++i) {
      Part& part = parts_[i];
      part.rehearsal.unit = units[i]->name;
      part.whole = std::move(read[i].found);
      const change::Verdict verdict = read[i].verdict;
      if (verdict == change::Verdict::no_answer || verdict == change::Verdict::wrong_unit) {
        part.rehearsal.what = "it cannot be read whole: " + read[i].what;
        continue;
      }
      const change::UnitResult& result = preview(part).result;
      part.rehearsal.steps = result.sequence.steps.size();
      part.rehearsal.unknown = change::unknown_of(*units[i], part.whole, result.differences, result.sequence);
    }
  }

  /// False where the twins cannot be served; told of the unit where it is `alone`.
  bool carry_out(const std::vector<std::size_t>& which, bool alone) {
    std::vector<std::string> texts;
    for (const std::size_t i : which) {
      const fleet::Unit& unit = *goals_[parts_[i].at].unit;
      const std::size_t steps = preview(parts_[i]).result.sequence.steps.size();
      texts.push_back(change::twin_text(unit, parts_[i].whole, std::nullopt));
      texts.push_back(change::twin_text(unit, parts_[i].whole, steps - 1));
    }
    const auto served = ServedTwins::serve(options_.simulator, live_.world.fleet, user_, texts);
    if (!served) {
      if (alone) parts_[which.front()].rehearsal.what = "no twin of it can be served: " + served.problem();
      return false;
    }
    for (std::size_t k = 0; k < which.size(); ++k) place(parts_[which[k]], **served, k);
    // How fast twins answer says nothing of the units, so nothing of it may reach their network.
    snmp::UdpNetwork network;
    const change::World world{network,
                              live_.disk,
                              live_.clock,
                              live_.world.fleet,
                              [this](const fleet::Unit&) { return user_.principal; },
                              nullptr,
                              nullptr};
    network.run_each(
        which.size(), [&](std::size_t k) { return one(world, parts_[which[k]]); }, which.size());
    return true;
  }

  void place(Part& part, const ServedTwins& served, std::size_t k) const {
    const auto twin_at = [&](std::uint16_t port) {
      fleet::Unit twin = *goals_[part.at].unit;
      twin.host = "127.0.0.1";
      twin.port = port;
      return twin;
    };
    part.twins = {twin_at(served.ports()[2 * k]), twin_at(served.ports()[2 * k + 1])};
  }

  snmp::Task<void> one(const change::World& world, Part& part) {
    std::vector<change::Unknown> unknown = std::move(part.rehearsal.unknown);
    part.rehearsal = co_await change::rehearse(world, goals_[part.at], preview(part).result.sequence,
                                               part.twins, options_.allow_cut_off);
    part.rehearsal.unknown = std::move(unknown);
  }

  Live& live_;
  const std::vector<change::UnitGoal>& goals_;
  const std::vector<Preview>& previews_;
  const RehearseOptions& options_;
  const TwinUser& user_;
  std::vector<Part> parts_;
};

/// What the rehearsal of a unit means for its change.
void conclude(const Rehearsal& rehearsal, change::UnitGoal& goal, Preview& preview) {
  if (rehearsal.passed()) {
    goal.goal = change::as_rehearsed(goal.goal, preview.result.differences);
    return;
  }
  preview.result.outcome = Outcome::refused;
  preview.result.what = "its rehearsal failed: " + rehearsal.what;
}

}  // namespace

std::vector<Rehearsal> rehearse(Live& live, std::vector<change::UnitGoal>& goals,
                                std::vector<Preview>& previews, const RehearseOptions& options) {
  std::vector<Part> waiting;
  for (std::size_t i = 0; i < previews.size(); ++i) {
    if (previews[i].result.outcome == Outcome::settled) waiting.push_back({i, {}, {}});
  }
  std::vector<Rehearsal> rehearsals;
  if (waiting.empty()) return rehearsals;
  const auto user = draw_twin_user();
  if (!user) throw std::runtime_error(user.problem());
  const Watching watching(live, waiting.size(), options.pace);
  for (std::size_t begin = 0; begin < waiting.size(); begin += batch_size) {
    const auto first = waiting.begin() + static_cast<std::ptrdiff_t>(begin);
    const auto last = first + static_cast<std::ptrdiff_t>(std::min(batch_size, waiting.size() - begin));
    std::vector<Part> parts(std::make_move_iterator(first), std::make_move_iterator(last));
    for (Part& part : Batch(live, goals, previews, options, *user, std::move(parts)).run()) {
      conclude(part.rehearsal, goals[part.at], previews[part.at]);
      rehearsals.push_back(std::move(part.rehearsal));
    }
  }
  return rehearsals;
}

}  // namespace vergeset::cli
