#include "change/rekey_unit.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <utility>

#include "records/mistake.h"
#include "snmp/key_change.h"

namespace vergeset::change {

namespace {

using records::makes;
using records::Mistake;
using records::StoredKeys;
using Seen = KeyHand::Seen;

StoredKeys stored(const snmp::LocalKeys& keys, const KeyGoal& goal, int change, StoredKeys::State state,
                  std::string id) {
  StoredKeys one;
  one.id = std::move(id);
  one.unit = goal.unit->name;
  one.credential = goal.credential;
  one.change = change;
  one.state = state;
  one.user = keys.user;
  one.engine_id = keys.engine_id;
  one.auth = keys.auth;
  one.auth_key = keys.auth_key;
  one.privacy = keys.privacy;
  one.privacy_key = keys.privacy_key;
  return one;
}

}  // namespace

smi::Oid Rekeying::user_at(UserColumn column) const {
  return user_instance(column, engine_id_, goal_.user);
}

snmp::Task<UnitResult> Rekeying::run() {
  try {
    const bool ready = co_await begin();
    if (ready) co_await change();
  } catch (const records::DiskError& error) {
    in_hand().records_fail(error, false);
  }
  co_await in_hand().close();
  co_return std::move(in_hand().result());
}

snmp::Task<UnitResult> Rekeying::look_only(std::string& opener) {
  const bool ready = co_await begin();
  opener = hand_.way().name;
  if (ready) end(Outcome::settled, "");
  co_return std::move(in_hand().result());
}

/// Everything before the first SET. False where the unit's change ends here.
snmp::Task<bool> Rekeying::begin() {
  if (!in_hand().claimed()) co_return false;
  const bool open = co_await find_way();
  if (!open) co_return false;
  const bool known = co_await is_the_unit();
  if (!known) co_return false;
  note_survivor();
  const auto error = co_await hand_.look();
  if (error) {
    end(Outcome::refused, "its users cannot be read: " + error->text);
    co_return false;
  }
  at_first_ = hand_.users();
  co_return plan();
}

snmp::Task<bool> Rekeying::find_way() {
  const bool by_another = !goal_.by.empty();
  const bool open = co_await opens_by(goal_.ways, !by_another, old_reads_);
  if (!open || !by_another) co_return open;
  old_way_ = hand_.way();
  bool reads = false;
  const bool giver_opens = co_await opens_by(goal_.by, true, reads);
  co_return giver_opens;
}

/// By the first of these that does. False where none does, and the unit's change ends.
snmp::Task<bool> Rekeying::opens_by(const std::vector<KeyWay>& ways, bool access_is_needed, bool& reads) {
  std::string refusals;
  for (const KeyWay& way : ways) {
    const Tried tried = co_await hand_.open(way);
    reads = tried.kind == Tried::Kind::opens;
    if (reads || (tried.kind == Tried::Kind::no_access && !access_is_needed)) co_return true;
    if (tried.kind == Tried::Kind::silent || tried.kind == Tried::Kind::stranger) {
      end(tried.kind == Tried::Kind::silent ? Outcome::no_answer : Outcome::refused, tried.why);
      co_return false;
    }
    refusals += fmt::format("{}{}: {}", refusals.empty() ? "" : "; ", way.name, tried.why);
  }
  end(Outcome::refused, refusals.empty() ? "no way in is known: name one with --from" : refusals);
  co_return false;
}

/// The unit has started since it was given these keys, and has not forgotten them: on record with the next
/// keys.
void Rekeying::note_survivor() {
  for (const StoredKeys& one : tools_.store.of(goal_.unit->name)) {
    const bool opened = one.id == hand_.way().stored && one.state == StoredKeys::State::opens;
    if (opened && !one.survived && static_cast<std::int64_t>(hand_.link().engine().boots) > one.boots)
      tools_.store.mark_survived(one.id);
  }
}

snmp::Task<bool> Rekeying::is_the_unit() {
  const Surveyed read = co_await in_hand().look(in_hand().identity());
  if (!read) {
    end(read.error->failure == snmp::Failure::no_access ? Outcome::refused : Outcome::no_answer,
        read.error->text);
    co_return false;
  }
  const std::string stranger = in_hand().stranger(read.found);
  if (!stranger.empty()) {
    end(Outcome::refused, stranger);
    co_return false;
  }
  know(in_hand().world(), in_hand().unit(), hand_.link(), in_hand().log());
  in_hand().known_as(read.found);
  engine_id_ = read.found.engine_id;
  co_return true;
}

bool Rekeying::has_protocols(const UnitUser& user, const std::string& what) {
  const bool told = !user.auth.empty() && !user.privacy.empty();
  if (!told || (user.auth == goal_.auth && user.privacy == goal_.privacy)) return true;
  end(Outcome::refused,
      fmt::format(
          "{} has {} with {}, credential {} asks for {} with {}, and a unit's user keeps the protocols "
          "that it was made with (RFC 3414 usmUserCloneFrom)",
          what, user.auth, user.privacy, goal_.credential, goal_.auth, goal_.privacy));
  return false;
}

/// What is to be done. False, and the result ended, where that is nothing or cannot be.
bool Rekeying::plan() {
  const UnitUsers& users = at_first_;
  auto opener = snmp::local_keys(*hand_.way().principal, engine_id_);
  if (!opener) {
    end(Outcome::refused,
        fmt::format("{} opens it, and cannot change keys: {}", hand_.way().name, opener.problem()));
    return false;
  }
  old_keys_ = *std::move(opener);
  const std::string by = old_keys_.user;
  if (!users.spin_lock || users.users.find(by) == users.users.end()) {
    end(Outcome::refused, "it does not let its users be changed over SNMP (no usmUserTable, RFC 3414)");
    return false;
  }
  const bool can_be = goal_.by.empty() ? plan_by_itself(by) : plan_by_another(by);
  if (!can_be) return false;
  for (const std::string& about : plan_.abouts(goal_.user, by)) {
    Step step;
    step.about = about;
    in_hand().result().sequence.steps.push_back(std::move(step));
  }
  if (plan_.nothing()) end(Outcome::nothing_to_do, "");
  return !plan_.nothing();
}

bool Rekeying::plan_by_itself(const std::string& by) {
  const UnitUsers& users = at_first_;
  old_way_ = hand_.way();
  const auto wanted = users.users.find(goal_.user);
  if (by == goal_.user) {
    plan_.own_keys = !is_given_already();
    if (!has_protocols(wanted->second, "its user " + by)) return false;
  } else if (wanted != users.users.end()) {
    if (!is_half_made(goal_.user)) {
      end(Outcome::refused,
          fmt::format("it has a user {} already, which none of the keys that were tried opens; name a "
                      "credential that does with --from, or have user {} removed at the unit",
                      goal_.user, goal_.user));
      return false;
    }
    plan_.half_made = true;
  }
  if (by != goal_.user) {
    plan_.new_user = true;
    if (!has_protocols(users.users.at(by),
                       fmt::format("its user {}, from which {} would be made,", by, goal_.user)))
      return false;
    const auto group = users.groups.find(by);
    const auto own = users.groups.find(goal_.user);
    plan_.joins = group != users.groups.end() && (own == users.groups.end() || own->second != group->second);
    if (plan_.joins) plan_.group = group->second;
  }
  for (const std::string& user : goal_.remove) {
    const KeyPlan::Rows rows{users.users.count(user) > 0, users.groups.count(user) > 0};
    if (user != goal_.user && (rows.user || rows.group)) plan_.remove.emplace(user, rows);
  }
  return true;
}

/// The keys that the user has now are known, and another user opens the unit, who is to give it others.
bool Rekeying::plan_by_another(const std::string& by) {
  giver_ = hand_.way();
  const auto wanted = at_first_.users.find(goal_.user);
  auto has = snmp::local_keys(*old_way_.principal, engine_id_);
  if (!has || wanted == at_first_.users.end() || by == goal_.user) {
    end(Outcome::refused,
        by == goal_.user ? fmt::format("{} is user {} itself, who needs no --by", giver_.name, by)
        : !has           ? fmt::format("{}: {}", old_way_.name, has.problem())
               : fmt::format("it does not show user {} of its usmUserTable to user {}", goal_.user, by));
    return false;
  }
  old_keys_ = *std::move(has);
  plan_.given_keys = !is_given_already();
  return has_protocols(wanted->second, "its user " + goal_.user);
}

/// The keys that it has now are those that it is to have.
bool Rekeying::is_given_already() const {
  if (!goal_.given) return old_way_.current && !goal_.renew;
  const auto given = snmp::local_keys(*goal_.given, engine_id_);
  return given && given->auth_key == old_keys_.auth_key && given->privacy_key == old_keys_.privacy_key;
}

/// The store has keys that were made for this user of the unit, and none of them was ever seen to open it.
bool Rekeying::is_half_made(const std::string& user) const {
  bool made = false;
  for (const StoredKeys& one : tools_.store.of(goal_.unit->name)) {
    if (one.user != user || one.state == StoredKeys::State::before) continue;
    if (one.state == StoredKeys::State::opens) return false;
    made = true;
  }
  return made;
}

/// Into memory only.
std::optional<Problem> Rekeying::make_keys() {
  if (goal_.given) {
    auto given = snmp::local_keys(*goal_.given, engine_id_);
    if (!given) return Problem{given.problem()};
    new_keys_ = *std::move(given);
    return std::nullopt;
  }
  new_keys_.user = goal_.user;
  new_keys_.engine_id = engine_id_;
  new_keys_.auth = goal_.auth;
  new_keys_.privacy = goal_.privacy;
  new_keys_.auth_key = tools_.random(snmp::auth_key_size(goal_.auth));
  new_keys_.privacy_key = tools_.random(snmp::privacy_key_size(goal_.privacy));
  return std::nullopt;
}

/// Units that come here in one turn of the loop are served by one sync.
snmp::Task<void> Rekeying::store(std::uint64_t line) {
  co_await in_hand().world().network.sleep(std::chrono::milliseconds(0));
  if (tools_.store.on_disk() < line) tools_.store.sync();
}

snmp::Task<void> Rekeying::change() {
  if (const auto problem = make_keys()) {
    end(Outcome::refused, problem->text);
    co_return;
  }
  const auto principal = snmp::principal_of(new_keys_);
  if (!principal) {
    end(Outcome::refused, principal.problem());
    co_return;
  }
  const bool changes_keys = plan_.changes_keys();
  new_way_ = {changes_keys ? "the new keys" : old_way_.name, *principal, "", false, goal_.user};
  if (changes_keys) {
    new_id_ = smi::to_hex(tools_.random(8));
    new_way_.stored = new_id_;
    const int change = options_.change;
    if (old_way_.stored.empty()) {
      tools_.store.add(
          stored(old_keys_, goal_, change, StoredKeys::State::before, smi::to_hex(tools_.random(8))));
    }
    if (plan_.given_keys && giver_.stored.empty()) store_giver();
    const std::uint64_t line =
        tools_.store.add(stored(new_keys_, goal_, change, StoredKeys::State::made, new_id_));
    if (!makes(Mistake::send_before_journal)) co_await store(line);
  }
  const std::uint64_t begun =
      in_hand().add_key_begin(engine_id_, in_hand().result().sequence.steps.size(), giver_.user);
  co_await in_hand().on_disk(begun);

  std::string failure;
  if (plan_.own_keys) failure = co_await set_own_keys();
  if (plan_.given_keys) failure = co_await give_keys(in_hand().result().sequence.steps.front().about);
  if (plan_.new_user) failure = co_await add_user();
  if (failure.empty() && !makes(Mistake::trust_response)) failure = co_await prove();
  if (!failure.empty() && unproven_) {
    left_to_recovery(failure);
    co_return;
  }
  if (!failure.empty()) {
    co_await go_back(failure);
    co_return;
  }
  if (changes_keys) {
    const auto boots = static_cast<std::int64_t>(hand_.link().engine().boots);
    co_await store(tools_.store.mark(new_id_, StoredKeys::State::opens, boots));
  }
  std::string rest = co_await remove_users();
  if (rest.empty()) rest = co_await others_are_as_before();
  // Last, since it ends with the unit open by the new keys: one that has forgotten them meanwhile is found
  // out.
  if (rest.empty()) rest = co_await old_is_refused();
  if (rest.empty()) {
    end(Outcome::settled, "");
    co_return;
  }
  if (hand_.unknown()) {
    left_to_recovery("its new keys work; " + rest);
    co_return;
  }
  const Tried still = co_await open_surely(hand_, new_way_);
  if (still.kind == Tried::Kind::refused && changes_keys) {
    co_await go_back("it took the new keys and then forgot them: " + still.why);
  } else if (still.kind == Tried::Kind::silent) {
    left_to_recovery("its new keys worked; " + rest);
  } else {
    end(Outcome::needs_attention, fmt::format("its new keys work; {}", rest));
  }
}

/// Recovery has to be let in by it to shut out what comes late.
void Rekeying::store_giver() {
  const auto keys = snmp::local_keys(*giver_.principal, engine_id_);
  if (!keys) return;  // it has opened the unit, so it has some
  StoredKeys one =
      stored(*keys, goal_, options_.change, StoredKeys::State::before, smi::to_hex(tools_.random(8)));
  one.credential = goal_.by_credential;
  const std::vector<StoredKeys> all = tools_.store.of(one.unit);
  const bool is_there = std::any_of(all.begin(), all.end(), [&one](const StoredKeys& other) {
    return other.state != StoredKeys::State::unused && other.same_keys(one);
  });
  if (!is_there) tools_.store.add(one);
}

/// By trying the new keys, then those before. The unit stays open by those that opened it.
snmp::Task<Seen> Rekeying::who_opens() {
  const Tried by_new = co_await open_surely(hand_, new_way_);
  if (by_new.kind == Tried::Kind::opens) co_return Seen::done;
  if (by_new.kind != Tried::Kind::refused) co_return Seen::unknown;
  const Tried by_old = co_await open_surely(hand_, old_way_);
  if (by_old.kind == Tried::Kind::opens) co_return Seen::not_done;
  co_return Seen::unknown;
}

/// By the keys of the user: a user that may read nothing is let in all the same (RFC 3415), where another
/// gives it its keys.
bool Rekeying::is_let_in(const Tried& tried) const {
  return tried.kind == Tried::Kind::opens || (!old_reads_ && tried.kind == Tried::Kind::no_access);
}

/// The unit is open by the other user again, where there is one. Empty, or why not.
snmp::Task<std::string> Rekeying::back_to_giver() {
  if (!plan_.given_keys) co_return std::string();
  const Tried tried = co_await open_surely(hand_, giver_);
  co_return tried.why;
}

/// The new keys read and write; where another user gave them, as far as theirs may.
snmp::Task<std::string> Rekeying::prove() {
  const Tried tried = co_await open_surely(hand_, new_way_);
  if (!is_let_in(tried)) co_return fmt::format("the new keys do not open it: {}", tried.why);
  if (tried.kind == Tried::Kind::no_access) co_return std::string();
  const Tried reigns = co_await in_charge(hand_);
  if (reigns.kind == Tried::Kind::opens) co_return std::string();
  if (plan_.given_keys && reigns.kind == Tried::Kind::no_access) co_return std::string();
  unproven_ = reigns.kind == Tried::Kind::silent;
  co_return fmt::format("user {} is not known to be in charge of it: {}", goal_.user, reigns.why);
}

/// What opened the unit before, where that is not to open it any more.
snmp::Task<std::string> Rekeying::old_is_refused() {
  const bool removed = plan_.remove.count(old_keys_.user) > 0;
  if (!plan_.own_keys && !plan_.given_keys && !removed) co_return std::string();
  const Tried tried = co_await open_surely(hand_, old_way_);
  const Tried again = co_await open_surely(hand_, new_way_);
  if (!is_let_in(again)) co_return fmt::format("then they did not open it: {}", again.why);
  if (tried.kind == Tried::Kind::opens || tried.kind == Tried::Kind::no_access)
    co_return fmt::format("{} still opens it", old_way_.name);
  co_return std::string();
}

snmp::Task<std::string> Rekeying::others_are_as_before() {
  const std::string closed = co_await back_to_giver();
  if (!closed.empty()) co_return "its other users could not be read any more: " + closed;
  const auto error = co_await hand_.look();
  if (error) co_return "its other users could not be read any more: " + error->text;
  std::set<std::string> ours{goal_.user};
  for (const auto& [user, rows] : plan_.remove) ours.insert(user);
  const auto others = [&ours](std::map<std::string, UnitUser> users) {
    for (const std::string& user : ours) users.erase(user);
    return users;
  };
  for (const auto& [user, rows] : plan_.remove) {
    if (hand_.users().users.count(user) + hand_.users().groups.count(user) > 0)
      co_return fmt::format("user {} is still there though the unit acknowledged its removal", user);
  }
  if (others(hand_.users().users) == others(at_first_.users)) co_return std::string();
  co_return "its other users are not as they were before: someone else may have changed them";
}

/// Open by what opened it before, with the users that it had. Empty, or what is not so.
snmp::Task<std::string> Rekeying::is_as_at_first() {
  const Tried still = co_await open_surely(hand_, old_way_);
  if (!is_let_in(still)) co_return still.why;
  const std::string closed = co_await back_to_giver();
  if (!closed.empty()) co_return closed;
  const auto error = co_await hand_.look();
  if (error) co_return error->text;
  if (hand_.users().users == at_first_.users && hand_.users().groups == at_first_.groups)
    co_return std::string();
  co_return "its users are not as they were, though the unit acknowledged it";
}

/// What became of it is not known: nothing is on record as its outcome.
void Rekeying::left_to_recovery(const std::string& why) {
  in_hand().result().unfinished = true;
  end(Outcome::no_answer, fmt::format("{}. All keys that may open it are stored: vergeset recover", why));
}

/// The change failed: what opened the unit before is to do so again, and nothing of the new user to be left.
snmp::Task<void> Rekeying::go_back(std::string why) {
  co_await in_hand().on_disk(in_hand().add_restore(why));
  Tried tried = co_await open_surely(hand_, old_way_);
  if (!is_let_in(tried)) {
    const Tried by_new = co_await open_surely(hand_, new_way_);
    const bool new_opens = is_let_in(by_new);
    if (tried.kind == Tried::Kind::silent && !new_opens) {
      left_to_recovery(why);
      co_return;
    }
    end(Outcome::needs_attention,
        new_opens
            ? fmt::format("{}. Its new keys open it", why)
            : fmt::format("{}. Neither its new keys nor {} open it; all stay stored", why, old_way_.name));
    co_return;
  }
  std::string failure;
  if (plan_.new_user) failure = co_await take_user_out();
  if (plan_.given_keys) failure = co_await back_to_giver();
  // No copy of a SET of ours may be carried out after this.
  if (failure.empty()) failure = co_await hand_.count_lock_on("so that nothing comes late");
  if (failure.empty() && !makes(Mistake::trust_restore)) failure = co_await is_as_at_first();
  if (!failure.empty()) {
    in_hand().result().unfinished = true;
    end(Outcome::needs_attention,
        fmt::format("{}. Putting it back failed: {}. vergeset recover", why, failure));
    co_return;
  }
  if (!new_id_.empty()) co_await store(tools_.store.mark(new_id_, StoredKeys::State::unused, 0));
  end(Outcome::restored, why);
}

}  // namespace vergeset::change
