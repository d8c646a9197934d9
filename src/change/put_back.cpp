#include "change/put_back.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "change/goal.h"
#include "change/keep.h"
#include "change/read_until.h"
#include "records/mistake.h"

namespace vergeset::change {

namespace {

using records::makes;
using records::Mistake;
using std::chrono::milliseconds;

constexpr int most_rounds = 5;
constexpr milliseconds pause{1000};

}  // namespace

/// Reads the unit over a link of its own, as soon as it answers.
snmp::Task<std::string> PutBack::reach(milliseconds until) {
  const World& world = hand_.world();
  while (true) {
    std::string why;
    bool later = true;
    const bool opened = co_await hand_.open();
    if (opened) {
      Wanted wanted = wanted_of_snapshot(world.fleet, hand_.unit(), snapshot_);
      wanted.instances.push_back(SerialNo::instance());
      Surveyed now = co_await hand_.look(std::move(wanted));
      if (now) {
        found_ = std::move(now.found);
        break;
      }
      hand_.not_reached(*now.error);
      later = may_answer_later(*now.error);
    }
    why = hand_.result().what;
    if (hand_.met_stranger()) {
      out_of_reach_ = hopeless_ = stranger_ = true;
      co_return why;
    }
    if (!later || world.network.now() + pause >= until) {
      out_of_reach_ = hopeless_ = true;
      co_return why;
    }
    co_await world.network.sleep(pause);
  }
  const std::string another = hand_.stranger(found_);
  out_of_reach_ = hopeless_ = stranger_ = !another.empty();
  serial_.found(found_.at(SerialNo::instance()));
  co_return another;
}

/// The differences from the snapshot that may come from our SETs. What else is another now is someone else's.
std::vector<Difference> PutBack::ours(const AsFound& now) const {
  std::vector<Difference> all = differences_to(hand_.unit(), snapshot_, now, "as found");
  const auto touched = [&](const smi::Oid& instance) { return walk_.touched().count(instance) > 0; };
  const auto item_touched = [&](const Item& item) { return touched(item.oid); };
  std::erase_if(all, [&](const Difference& difference) {
    return !touched(difference.row.status) &&
           std::none_of(difference.items.begin(), difference.items.end(), item_touched) &&
           std::none_of(difference.whole_row.begin(), difference.whole_row.end(), item_touched);
  });
  return all;
}

/// A transition that we asked for may still be under way while the mode reads as before (RSU 4.1 has one
/// object for both), so the mode as found is asked for again whenever we touched it.
void PutBack::mode_again(Sequence& back) const {
  const fleet::Unit& unit = hand_.unit();
  if (!walk_.mode_touched() || !unit.model->mode) return;
  const schema::ModeRule& rule = *unit.model->mode;
  const bool already = std::any_of(back.steps.begin(), back.steps.end(),
                                   [](const Step& step) { return step.kind != Step::Kind::set; });
  const smi::Oid mode = rule.asked->oid.child(0);
  for (const records::Kept& kept : snapshot_.values) {
    if (kept.oid != mode || already) continue;
    if (kept.value.number == rule.operate) back.steps.push_back(mode_step(rule, true));
    const bool hidden = rule.asked == rule.status;
    if (kept.value.number == rule.standby && hidden) back.steps.push_back(mode_step(rule, false));
  }
}

snmp::Task<std::string> PutBack::once(milliseconds until) {
  const fleet::Unit& unit = hand_.unit();
  const std::string away = co_await reach(until);
  if (!away.empty()) co_return away;
  std::vector<Difference> differences = ours(found_);
  fill_whole_rows(unit, found_, differences);
  const Order order = makes(Mistake::restore_forward) ? Order::forward : Order::reverse;
  Sequence back = sequence(*unit.model, differences, mode_of(*unit.model, found_), order);
  if (!makes(Mistake::forget_operate)) mode_again(back);
  const auto operate = [](const Step& step) { return step.kind == Step::Kind::go_operate; };
  if (makes(Mistake::forget_operate)) std::erase_if(back.steps, operate);
  std::string failure = co_await walk_.take(back, Walk::Way::back, found_, until);
  if (makes(Mistake::trust_restore)) co_return std::string();
  if (!failure.empty() && walk_.silent()) co_return failure;
  std::string unlike;
  for (int readings = 0; readings < most_readings; ++readings) {
    std::string read = co_await verify();
    unlike = std::move(read);
    if (!unlike.empty()) break;
    const std::optional<std::string> closed = co_await walk_.let_none_in();
    if (!closed) break;
    unlike = *closed;
    if (!unlike.empty()) break;
  }
  co_return unlike.empty() || failure.empty() ? unlike : failure;
}

snmp::Task<std::string> PutBack::verify() {
  const World& world = hand_.world();
  const fleet::Unit& unit = hand_.unit();
  const milliseconds until = world.network.now() + std::chrono::seconds(world.fleet.mode_wait_s);
  std::vector<smi::Oid> instances = instances_of(*unit.model, snapshot_);
  instances.push_back(SerialNo::instance());
  Surveyed now = co_await read_until(world.network, hand_.link(), std::move(instances), until);
  if (!now) co_return now.error->text;
  walk_.keep_copies_out(now.found);
  judge(world.fleet, unit, now.found, hand_.result());
  if (mode_of(*unit.model, now.found).operate) walk_.on_air_again();
  const std::vector<Difference> differences = ours(now.found);
  if (!differences.empty()) co_return fmt::format("{} is not as found", differences.front().title());
  if (before_ == nullptr) co_return std::string();
  Wanted wanted = before_->wanted;
  Surveyed all = co_await hand_.look(std::move(wanted));
  if (!all) co_return all.error->text;
  all.found.instances.merge(now.found.instances);
  co_return lost(all.found);
}

/// What else was read at first and is another now though no step touched it: a unit that rebooted may have
/// forgotten more than the change is about.
std::string PutBack::lost(const AsFound& now) const {
  const fleet::Unit& unit = hand_.unit();
  std::string first;
  std::size_t count = 0;
  for (const auto& [instance, value] : before_->found.instances) {
    const schema::Object* object = unit.model->object_at(instance);
    if (object == nullptr || !object->configuration() || unit.desired.traits_of(*object).running) continue;
    const auto found = now.instances.find(instance);
    if (found == now.instances.end()) {
      if (value.absent() || object->table == nullptr) continue;  // a row that is gone, else not asked again
    } else if (value.absent() == found->second.absent() &&
               (value.absent() || smi::agree(object->syntax, value, found->second))) {
      continue;
    }
    if (count++ == 0) first = unit.model->name_of(instance);
  }
  if (count == 0) return {};
  return fmt::format("{}{} not as found though no step touched {}; see: vergeset audit {}", first,
                     count == 1 ? " is" : fmt::format(" and {} more are", count - 1),
                     count == 1 ? "it" : "them", unit.name);
}

snmp::Task<std::string> PutBack::last_word() {
  std::string word = co_await operate_at_last();
  if (stranger_ || out_of_reach_) co_return word;
  const std::optional<std::string> closed = co_await walk_.let_none_in();
  if (!closed) co_return word;
  std::string again = co_await operate_at_last();
  co_return again;
}

snmp::Task<std::string> PutBack::operate_at_last() {
  if (!walk_.mode_touched() || !snapshot_.on_air) co_return std::string();
  if (stranger_) co_return std::string(" The unit itself may be in standby.");
  const Surveyed now = co_await hand_.look(hand_.identity());
  if (!now) co_return std::string(" It may be in standby.");
  if (!hand_.stranger(now.found).empty()) co_return std::string(" The unit itself may be in standby.");
  const schema::ModeRule& rule = *hand_.unit().model->mode;
  const ModeFound mode = mode_of(*hand_.unit().model, now.found);
  if (mode.operate && mode.asked == rule.operate && rule.asked != rule.status) {
    walk_.on_air_again();
    co_return std::string();
  }
  serial_.found(now.found.at(SerialNo::instance()));
  Sequence operate;
  operate.steps.push_back(mode_step(rule, true));
  const std::string failure = co_await walk_.take(operate, Walk::Way::back, now.found);
  if (failure.empty()) co_return std::string(" It operates.");
  co_return mode.standby ? std::string(" It is in standby.") : std::string(" It may be in standby.");
}

snmp::Task<std::string> PutBack::run() {
  const World& world = hand_.world();
  const milliseconds until =
      world.network.now() + 2 * milliseconds(std::chrono::seconds(world.fleet.mode_wait_s));
  std::string failure;
  for (int round = 0; round < most_rounds; ++round) {
    out_of_reach_ = hopeless_ = false;
    failure = co_await once(until);
    if (failure.empty() || hopeless_ || world.network.now() >= until) break;
  }
  co_return failure;
}

}  // namespace vergeset::change
