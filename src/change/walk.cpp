#include "change/walk.h"

#include <fmt/format.h>

#include <algorithm>

#include "change/mode.h"
#include "change/read_until.h"
#include "change/wait_mode.h"
#include "records/mistake.h"

namespace vergeset::change {

namespace {

using records::makes;
using records::Mistake;
using std::chrono::milliseconds;

milliseconds mode_wait(const World& world) {
  return std::chrono::seconds(world.fleet.mode_wait_s);
}

}  // namespace

Walk::Walk(InHand& hand, SerialNo& serial)
    : hand_(hand), serial_(serial), setter_(hand.world().network, serial) {}

milliseconds Walk::most_of_a_step(Way way, std::optional<milliseconds> until) const {
  const milliseconds wait = mode_wait(hand_.world());
  milliseconds most = hand_.world().network.now() + wait;
  if (way == Way::there && left_operate_) most = std::min(most, *left_operate_ + 2 * wait);
  if (until) most = std::min(most, *until);
  return most;
}

snmp::Task<std::string> Walk::take(const Sequence& sequence, Way way, const AsFound& found,
                                   std::optional<milliseconds> until) {
  const bool goes_on =
      way == Way::back ? !makes(Mistake::restore_stops) : makes(Mistake::go_on_after_failure);
  std::string first;
  for (std::size_t i = 0; i < sequence.steps.size(); ++i) {
    const Step& one = sequence.steps[i];
    const std::size_t number = way == Way::there ? i + 1 : ++back_steps_;
    co_await announce(one, way, number, found);
    hand_.say(one.about);
    const milliseconds most = most_of_a_step(way, until);
    const std::string failure = co_await step(one, way, number, found, most);
    hand_.add_result(number, failure);
    if (failure.empty()) {
      ++hand_.result().steps_done;
      continue;
    }
    if (first.empty())
      first = fmt::format("step {} of {}, {}: {}", i + 1, sequence.steps.size(), one.about, failure);
    if (!goes_on || silent_) break;
  }
  co_return first;
}

/// In the journal before its SET leaves, and whether that names a serial number.
snmp::Task<void> Walk::announce(const Step& step, Way way, std::size_t number, const AsFound& found) {
  const std::uint64_t line =
      hand_.add_step(way == Way::there ? "step" : "restore step", number, step, found, serial_.offered());
  if (!makes(Mistake::send_before_journal)) co_await hand_.on_disk(line);
}

snmp::Task<std::string> Walk::step(const Step& step, Way way, std::size_t number, const AsFound& found,
                                   milliseconds until) {
  const World& world = hand_.world();
  const fleet::Unit& unit = hand_.unit();
  if (step.kind == Step::Kind::go_standby && !left_operate_ && mode_of(*unit.model, found).operate)
    left_operate_ = world.network.now();
  // What cuts the manager off may do so before its response.
  const milliseconds patience = step.cuts_off && way == Way::there ? world.network.now() : until;
  Carried carried = co_await setter_.carry_out(hand_.link(), step.assignments, patience);
  if (carried.unnumbered) {
    co_await announce(step, way, number, found);
    Carried again = co_await setter_.carry_out(hand_.link(), step.assignments, patience);
    carried = std::move(again);
  }
  silent_ = carried.end == Carried::End::silent;
  if (!carried.untouched) {
    for (const Assignment& one : step.assignments) touched_.insert(one.oid);
    if (step.kind != Step::Kind::set) mode_touched_ = true;
  }
  if (silent_ && step.cuts_off) {
    std::string gone = co_await open_again();
    co_return gone;
  }
  if (carried.end != Carried::End::done) co_return carried.what;
  if (step.kind == Step::Kind::set || makes(Mistake::no_wait_for_mode)) co_return std::string();
  const bool operate = step.kind == Step::Kind::go_operate;
  const std::string failure =
      co_await wait_for_mode(world.network, hand_.link(), *unit.model->mode, operate, mode_wait(world));
  if (operate && failure.empty()) on_air_again();
  co_return failure;
}

/// The unit is sought anew where the inventory says it is.
snmp::Task<std::string> Walk::open_again() {
  const bool opened = co_await hand_.open();
  if (!opened && hand_.met_stranger()) co_return hand_.result().what;
  if (!opened) co_return "no answer where the inventory has the unit: " + hand_.result().what;
  Surveyed now = co_await hand_.look(hand_.identity());
  if (!now) co_return "no answer where the inventory has the unit: " + now.error->text;
  silent_ = false;
  serial_.found(now.found.at(SerialNo::instance()));
  co_return hand_.stranger(now.found);
}

snmp::Task<std::optional<std::string>> Walk::let_none_in() {
  if (makes(Mistake::no_fence)) co_return std::nullopt;
  snmp::Network& network = hand_.world().network;
  bool waited = setter_.numbered().has_value();
  if (waited) {
    std::string failure = co_await past_the_numbered();
    if (!failure.empty()) co_return failure;
  }
  const milliseconds until = setter_.latest();
  setter_.none_can_come();
  if (until > network.now()) {
    waited = true;
    hand_.say("waiting until a SET without an answer can no longer come");
    co_await network.sleep(until - network.now());
  }
  if (!waited) co_return std::nullopt;
  co_return std::string();
}

void Walk::keep_copies_out(const AsFound& read) {
  const smi::Value& number = read.at(SerialNo::instance());
  if (serial_.offered() && !number.absent() && setter_.named(number.number)) setter_.keep_out(number.number);
}

/// Sees that the unit's number is another than that of the SET without an answer, if need be by a SET of the
/// number alone. Where it will not count on, the time is left to be waited for.
snmp::Task<std::string> Walk::past_the_numbered() {
  constexpr int most_fences = 6;
  const World& world = hand_.world();
  for (int sent = 0; serial_.offered(); ++sent) {
    const milliseconds until = world.network.now() + mode_wait(world);
    const Surveyed now = co_await read_until(world.network, hand_.link(),
                                             std::vector<smi::Oid>(1, SerialNo::instance()), until);
    silent_ = !now;
    if (!now) co_return now.error->text;
    const smi::Value& value = now.found.at(SerialNo::instance());
    if (value.absent()) break;
    const bool came = value.number > serial_.number();
    serial_.found(value);
    if (came) co_return "a SET without an answer came late";
    if (!setter_.named(value.number)) {
      setter_.numbered_cannot_come();
      break;
    }
    if (sent == most_fences) break;
    Step fence;
    fence.about = "let no late SET in";
    const AsFound nothing;
    const std::uint64_t line = hand_.add_step("fence", ++fences_, fence, nothing, true);
    co_await hand_.on_disk(line);
    const Carried carried = co_await setter_.carry_out(hand_.link(), fence.assignments, until);
    hand_.add_result(fences_, carried.end == Carried::End::done ? std::string() : carried.what);
    if (carried.end != Carried::End::done) break;
  }
  co_return std::string();
}

void Walk::on_air_again() {
  if (!left_operate_) return;
  hand_.result().off_air += hand_.world().network.now() - *left_operate_;
  left_operate_.reset();
}

}  // namespace vergeset::change
