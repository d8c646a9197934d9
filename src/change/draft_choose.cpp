#include "change/draft_choose.h"

#include <algorithm>

namespace vergeset::change {

namespace {

using Member = Slot::Member;
using Members = std::vector<Member>;

/// Octets that one member alone has can be told by a file that is named for the unit.
class Alone {
 public:
  explicit Alone(const Members& members) {
    for (const Member& member : members) {
      const Cell& cell = *member.cell;
      if (cell.state != Cell::State::said || cell.ways.front().kind != Say::Kind::file) continue;
      ++held_[cell.ways.front().octets];
    }
  }
  bool holds(const Cell& cell) const {
    if (cell.state != Cell::State::said || cell.ways.front().kind != Say::Kind::file) return false;
    return held_.at(cell.ways.front().octets) == 1;
  }
  bool any() const {
    return std::count_if(held_.begin(), held_.end(), [](const auto& one) { return one.second == 1; }) > 1;
  }

 private:
  std::map<std::string, std::size_t> held_;
};

class Choosing {
 public:
  explicit Choosing(const Slot& slot) : slot_(slot), alone_(slot.members) {}

  Chosen take() const {
    Chosen best = assigned(std::nullopt);
    if (!slot_.lifted) return best;
    std::size_t best_lines = lines(best);
    const auto offer = [&](const std::optional<Say>& all) {
      Chosen one = assigned(all);
      const std::size_t count = lines(one);
      if (count > best_lines || (count == best_lines && !rather(one, best))) return;
      best = std::move(one);
      best_lines = count;
    };
    if (slot_.plain) {
      for (const Say& say : candidates(slot_.members)) offer(say);
    }
    return best;
  }

 private:
  static std::size_t lines(const Chosen& chosen) { return chosen.lines(); }

  /// What a unit is called is said by {unit}, at the same length too.
  bool rather(const Chosen& one, const Chosen& other) const {
    const bool by_name = one.all && one.all->text.find('{') != std::string::npos;
    return one.own.size() < other.own.size() && (slot_.rather_shared || by_name);
  }

  bool agrees(const Say& say, const Member& member) const {
    if (say.kind != Say::Kind::own_file) return fits(say, *member.of, *member.cell);
    return member.cell->state == Cell::State::free || alone_.holds(*member.cell);
  }

  /// What the layers below leave to be said of a member.
  bool left_over(const std::optional<Say>& said, const Member& member) const {
    const Cell& cell = *member.cell;
    if (cell.state == Cell::State::free) return false;
    if (said) return !agrees(*said, member);
    return cell.state == Cell::State::said ? !cell.settled() : cell.base != nullptr;
  }

  std::size_t count_left(const std::optional<Say>& said, const Members& members) const {
    return static_cast<std::size_t>(std::count_if(
        members.begin(), members.end(), [&](const Member& member) { return left_over(said, member); }));
  }

  /// The ways that most units have, at most a handful: what one of them comes to on a unit of another model
  /// is tried only for these.
  std::vector<Say> candidates(const Members& members) const {
    constexpr std::size_t handful = 6;
    std::map<Say, std::size_t> votes;
    std::vector<Say> ways;
    for (const Member& member : members) {
      if (member.cell->state != Cell::State::said) continue;
      for (const Say& way : member.cell->ways) {
        if (!slot_.whole && way.text.find("{site.") != std::string::npos) continue;
        if (votes[way]++ == 0) ways.push_back(way);
      }
    }
    std::stable_sort(ways.begin(), ways.end(),
                     [&](const Say& a, const Say& b) { return votes.at(a) > votes.at(b); });
    if (ways.size() > handful) ways.resize(handful);
    if (slot_.whole && alone_.any()) ways.push_back({Say::Kind::own_file, {}});
    return ways;
  }

  std::map<std::string, Members> by_model() const {
    std::map<std::string, Members> models;
    for (const Member& member : slot_.members) models[member.of->model->name].push_back(member);
    return models;
  }

  /// The best that can be done where `all` is said for all.
  Chosen assigned(const std::optional<Say>& all) const {
    Chosen chosen;
    chosen.all = all;
    for (const auto& [model, members] : by_model()) {
      std::optional<Say> said = all;
      if (slot_.lifted) {
        if (const auto only = best_only(all, members)) {
          chosen.only.emplace(model, *only);
          said = only;
        }
      }
      for (const Member& member : members) {
        if (left_over(said, member)) leave(member, chosen);
      }
    }
    return chosen;
  }

  std::optional<Say> best_only(const std::optional<Say>& all, const Members& members) const {
    std::optional<Say> best;
    std::size_t least = count_left(all, members);
    if (least == 0) return best;
    for (const Say& say : candidates(members)) {
      const std::size_t count = 1 + count_left(say, members);
      const bool by_name = say.text.find('{') != std::string::npos;
      const bool at_same = count == least && !best && !all && (slot_.rather_shared || by_name);
      if (count >= least && !at_same) continue;
      best = say;
      least = count;
    }
    return best;
  }

  static void leave(const Member& member, Chosen& chosen) {
    if (member.cell->state == Cell::State::said) {
      chosen.own.emplace(member.unit, member.cell->ways.front());
    } else {
      chosen.not_to_compare.insert(member.unit);
    }
  }

  const Slot& slot_;
  Alone alone_;
};

}  // namespace

Chosen choose(const Slot& slot) {
  return Choosing(slot).take();
}

}  // namespace vergeset::change
