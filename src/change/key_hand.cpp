#include "change/key_hand.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "change/serial_no.h"
#include "change/survey.h"
#include "records/mistake.h"

namespace vergeset::change {

namespace {

using records::makes;
using records::Mistake;

/// A SET is sent so often at most, and the lock counted on so often.
constexpr int most_times = 4;

Tried judged(const World& world, const fleet::Unit& unit, const snmp::Error& error) {
  using Kind = Tried::Kind;
  if (is_stranger(error.failure)) {
    // The unit's engine may be the right one, and the keys another's.
    const auto expected = expected_engine(world, unit);
    const bool right = error.failure == snmp::Failure::wrong_engine && expected && *expected == error.engine;
    if (right) return {Kind::refused, error.text};
    return {Kind::stranger, "wrong unit: " + stranger_text(world, unit, error)};
  }
  if (refuses_user(error.failure)) return {Kind::refused, error.text};
  return {error.failure == snmp::Failure::no_access ? Kind::no_access : Kind::silent, error.text};
}

bool opened_anew_helps(const snmp::Error& error) {
  return error.failure == snmp::Failure::bad_answer || error.failure == snmp::Failure::clock_window;
}

/// Nothing that the unit said: it may have carried the SET out.
bool response_lost(const snmp::Error& error) {
  return error.status == 0 && error.failure != snmp::Failure::local;
}

}  // namespace

snmp::Task<Tried> KeyHand::open(KeyWay way) {
  way_ = std::move(way);
  const auto error = co_await hand_.open_as(way_.principal);
  if (error) co_return judged(hand_.world(), hand_.unit(), *error);
  const auto unread = co_await look_at_lock();
  if (unread) co_return judged(hand_.world(), hand_.unit(), *unread);
  co_return Tried{Tried::Kind::opens, ""};
}

snmp::Task<std::optional<snmp::Error>> KeyHand::look_at_lock() {
  std::vector<smi::Oid> lock;
  lock.push_back(user_spin_lock());
  const snmp::Answer answer = co_await link().get(std::move(lock));
  if (!answer) co_return answer.error();
  const smi::Value& value = answer.varbinds().front().value;
  users_.spin_lock.reset();
  if (value.type == smi::Type::integer) users_.spin_lock = value.number;
  co_return std::optional<snmp::Error>();
}

snmp::Task<std::optional<snmp::Error>> KeyHand::look() {
  UsersRead read = co_await read_users(link());
  if (read.error && opened_anew_helps(*read.error)) {
    const auto error = co_await hand_.open_as(way_.principal);
    if (error) co_return *error;
    read = co_await read_users(link());
  }
  if (read.error) co_return *read.error;
  users_ = std::move(read.found);
  co_return std::optional<snmp::Error>();
}

snmp::Task<Surveyed> KeyHand::read(std::vector<smi::Oid> instances) {
  std::vector<smi::Oid> again = instances;
  Surveyed surveyed = co_await change::read(link(), std::move(instances));
  if (!surveyed && opened_anew_helps(*surveyed.error)) {
    const auto error = co_await hand_.open_as(way_.principal);
    if (!error) surveyed = co_await change::read(link(), std::move(again));
  }
  co_return surveyed;
}

snmp::Task<void> KeyHand::announce(std::string_view event, const std::string& about) {
  // A fence is none of the steps that recovery counts: it stands by the number of the one before it.
  if (event == "step") ++steps_;
  const std::uint64_t line = hand_.add_key_step(event, steps_, about);
  co_await hand_.on_disk(line);
}

snmp::Task<std::string> KeyHand::set(std::string about, std::vector<snmp::VarBind> varbinds, Look look) {
  unknown_ = false;
  std::string failure;
  int refusals = 0;
  for (int time = 0; time < most_times; ++time) {
    if (!users_.spin_lock) co_return "the unit has no usmUserSpinLock (RFC 3414)";
    co_await announce("step", about);
    std::vector<snmp::VarBind> sent = varbinds;
    sent.push_back({user_spin_lock(), smi::Value::integer(*users_.spin_lock)});
    const std::size_t lock_at = sent.size();
    snmp::Answer answer = co_await link().set(std::move(sent));
    if (answer) {
      hand_.add_result(steps_, "");
      ++hand_.result().steps_done;
      users_.spin_lock = SerialNo::next(*users_.spin_lock);
      co_return std::string();
    }
    const snmp::Error& error = answer.error();
    failure = fmt::format("{}: {}", about, error.text);
    hand_.add_result(steps_, error.text);
    if (error.failure == snmp::Failure::local || error.failure == snmp::Failure::too_big) co_return failure;
    if (makes(Mistake::resend_blindly) && response_lost(error)) continue;
    // Of a SET that was doubled the other copy may have been carried out, and its response lost.
    const Seen seen = co_await look();
    if (seen == Seen::done) {
      ++hand_.result().steps_done;
      co_return std::string();
    }
    if (seen == Seen::unknown) {
      unknown_ = true;
      co_return failure;
    }
    const std::optional<std::int64_t> named = users_.spin_lock;
    const auto unread = co_await look_at_lock();
    if (unread) {
      unknown_ = true;
      co_return fmt::format("{}: {}", about, unread->text);
    }
    const bool by_lock = !response_lost(error) && (error.index == lock_at || users_.spin_lock != named);
    // Once may be a mishap of the unit's.
    if (!response_lost(error) && !by_lock && ++refusals == 2) co_return failure;
    const std::string open = co_await count_lock_on("so that no copy of it comes late");
    const Seen now = co_await look();
    if (now == Seen::done) {
      ++hand_.result().steps_done;
      co_return std::string();
    }
    if (now == Seen::unknown || !open.empty()) {
      unknown_ = true;
      co_return open.empty() ? failure : fmt::format("{}; {}", failure, open);
    }
  }
  co_return failure;
}

snmp::Task<std::string> KeyHand::count_lock_on(std::string about) {
  unknown_ = false;
  if (makes(Mistake::no_fence)) co_return std::string();
  if (!users_.spin_lock) co_return "the unit has no usmUserSpinLock (RFC 3414)";
  std::string failure;
  int refusals = 0;
  for (int time = 0; time < most_times; ++time) {
    const std::int64_t named = *users_.spin_lock;
    co_await announce("fence", fmt::format("count usmUserSpinLock on, {}", about));
    std::vector<snmp::VarBind> one;
    one.push_back({user_spin_lock(), smi::Value::integer(named)});
    const snmp::Answer answer = co_await link().set(std::move(one));
    failure = answer ? "the unit acknowledged it and did not do it" : answer.error().text;
    const auto unread = co_await look_at_lock();
    if (unread) {
      unknown_ = true;
      co_return unread->text;
    }
    if (!users_.spin_lock) co_return "the unit has no usmUserSpinLock any more";
    // Another hand may have counted it on beside us.
    const bool counted = *users_.spin_lock == SerialNo::next(named);
    if (counted || (answer && *users_.spin_lock != named)) co_return std::string();
    const bool refused = answer || answer.error().status != 0;
    if (refused && *users_.spin_lock == named && ++refusals == 2) co_return failure;
  }
  unknown_ = true;
  co_return failure;
}

snmp::Task<Tried> open_surely(KeyHand& hand, KeyWay way) {
  Tried tried;
  for (int time = 0; time < 3; ++time) {
    tried = co_await hand.open(way);
    if (tried.kind != Tried::Kind::silent) break;
  }
  co_return tried;
}

snmp::Task<Tried> in_charge(KeyHand& hand) {
  using Kind = Tried::Kind;
  const Surveyed read = co_await hand.hand().look(hand.hand().identity());
  if (!read) {
    const bool refused = read.error->failure == snmp::Failure::no_access;
    co_return Tried{refused ? Kind::no_access : Kind::silent, read.error->text};
  }
  const auto& all = read.found.instances;
  if (std::all_of(all.begin(), all.end(), [](const auto& one) { return one.second.absent(); }))
    co_return Tried{Kind::no_access, "it may read nothing of the unit"};
  const std::string stranger = hand.hand().stranger(read.found);
  if (!stranger.empty()) co_return Tried{Kind::silent, stranger};
  const std::string failure = co_await hand.count_lock_on("to show that the user may write");
  if (failure.empty()) co_return Tried{Kind::opens, ""};
  co_return Tried{hand.unknown() ? Kind::silent : Kind::no_access, failure};
}

}  // namespace vergeset::change
