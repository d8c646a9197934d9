#include "change/rekey_unit.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <utility>

#include "change/survey.h"
#include "records/mistake.h"
#include "snmp/key_change.h"

namespace vergeset::change {

namespace {

using records::makes;
using records::Mistake;
using records::StoredKeys;
using Seen = KeyHand::Seen;

// RowStatus (RFC 2579).
constexpr std::int64_t active = 1;
constexpr std::int64_t create_and_go = 4;
constexpr std::int64_t create_and_wait = 5;
constexpr std::int64_t destroy = 6;

constexpr std::size_t public_octets = 16;

snmp::VarBind number(smi::Oid oid, std::int64_t value) {
  return {std::move(oid), smi::Value::integer(value)};
}

snmp::VarBind octets(smi::Oid oid, std::string value) {
  return {std::move(oid), smi::Value::of_octets(std::move(value))};
}

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

bool is_refusal(const Tried& tried) {
  return tried.kind == Tried::Kind::refused;
}

/// In tables of users a row that is there is one of these (RFC 2579).
bool in_force(int status) {
  return status == active || status == create_and_go;
}

}  // namespace

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

namespace {

snmp::Task<std::string> destroy_row(KeyHand& hand, smi::Oid row, std::string about) {
  const auto is_gone = [&hand, row]() -> snmp::Task<Seen> {
    std::vector<smi::Oid> asked;
    asked.push_back(row);
    const Surveyed read = co_await hand.read(std::move(asked));
    if (!read) co_return Seen::unknown;
    co_return read.found.at(row).absent() ? Seen::done : Seen::not_done;
  };
  std::vector<snmp::VarBind> gone;
  gone.push_back(number(row, destroy));
  const KeyHand::Look look = is_gone;
  std::string failure = co_await hand.set(std::move(about), std::move(gone), look);
  co_return failure;
}

}  // namespace

std::string removal_about(const std::string& user) {
  return fmt::format("remove user {}", user);
}

namespace {

std::string leaving_about(const std::string& user) {
  return fmt::format("take user {} out of its group", user);
}

}  // namespace

snmp::Task<std::string> remove_user(KeyHand& hand, std::string engine_id, std::string user,
                                    KeyPlan::Rows rows) {
  std::string failure;
  if (rows.user) {
    failure =
        co_await destroy_row(hand, user_instance(UserColumn::status, engine_id, user), removal_about(user));
  }
  if (failure.empty() && rows.group) {
    failure = co_await destroy_row(hand, group_instance(GroupColumn::status, user), leaving_about(user));
  }
  co_return failure;
}

std::vector<std::string> KeyPlan::abouts(const std::string& user, const std::string& opener) const {
  std::vector<std::string> all;
  if (own_keys) all.push_back(fmt::format("give user {} new keys", user));
  if (half_made) all.push_back(removal_about(user));
  if (new_user) {
    all.push_back(fmt::format("add user {}, made from {}", user, opener));
    all.push_back(fmt::format("give user {} keys of its own", user));
    all.push_back(fmt::format("put user {} in force", user));
  }
  if (joins) all.push_back(fmt::format("add user {} to group {}", user, group));
  for (const auto& [one, rows] : remove) {
    if (rows.user) all.push_back(removal_about(one));
    if (rows.group) all.push_back(leaving_about(one));
  }
  return all;
}

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
  std::string refusals;
  for (const KeyWay& way : goal_.ways) {
    const Tried tried = co_await hand_.open(way);
    if (tried.kind == Tried::Kind::opens) co_return true;
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
  old_way_ = hand_.way();
  const std::string& by = old_keys_.user;
  if (!users.spin_lock || users.users.find(by) == users.users.end()) {
    end(Outcome::refused, "it does not let its users be changed over SNMP (no usmUserTable, RFC 3414)");
    return false;
  }
  const auto wanted = users.users.find(goal_.user);
  if (by == goal_.user) {
    bool same = !goal_.given && old_way_.current && !goal_.renew;
    if (goal_.given) {
      const auto given = snmp::local_keys(*goal_.given, engine_id_);
      same = given && given->auth_key == old_keys_.auth_key && given->privacy_key == old_keys_.privacy_key;
    }
    plan_.own_keys = !same;
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
  for (const std::string& about : plan_.abouts(goal_.user, by)) {
    Step step;
    step.about = about;
    in_hand().result().sequence.steps.push_back(std::move(step));
  }
  if (plan_.nothing()) end(Outcome::nothing_to_do, "");
  return !plan_.nothing();
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
  const bool changes_keys = plan_.own_keys || plan_.new_user;
  new_way_ = {changes_keys ? "the new keys" : old_way_.name, *principal, ""};
  if (changes_keys) {
    new_id_ = smi::to_hex(tools_.random(8));
    new_way_.stored = new_id_;
    const int change = options_.change;
    if (old_way_.stored.empty()) {
      tools_.store.add(
          stored(old_keys_, goal_, change, StoredKeys::State::before, smi::to_hex(tools_.random(8))));
    }
    const std::uint64_t line =
        tools_.store.add(stored(new_keys_, goal_, change, StoredKeys::State::made, new_id_));
    if (!makes(Mistake::send_before_journal)) co_await store(line);
  }
  const std::uint64_t begun = in_hand().add_key_begin(engine_id_, in_hand().result().sequence.steps.size());
  co_await in_hand().on_disk(begun);

  std::string failure;
  if (plan_.own_keys) failure = co_await set_own_keys();
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
  if (rest.empty()) rest = co_await old_is_refused();
  if (rest.empty()) rest = co_await others_are_as_before();
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

/// By trying the new keys, then those before. The unit stays open by those that opened it.
snmp::Task<Seen> Rekeying::who_opens() {
  const Tried by_new = co_await open_surely(hand_, new_way_);
  if (by_new.kind == Tried::Kind::opens) co_return Seen::done;
  if (!is_refusal(by_new)) co_return Seen::unknown;
  const Tried by_old = co_await open_surely(hand_, old_way_);
  if (by_old.kind == Tried::Kind::opens) co_return Seen::not_done;
  neither_ = is_refusal(by_old);
  co_return Seen::unknown;
}

snmp::Task<std::string> Rekeying::set_own_keys() {
  const auto auth = snmp::key_change(goal_.auth, old_keys_.auth_key, new_keys_.auth_key,
                                     tools_.random(new_keys_.auth_key.size()));
  const auto privacy = snmp::key_change(goal_.auth, old_keys_.privacy_key, new_keys_.privacy_key,
                                        tools_.random(new_keys_.privacy_key.size()));
  if (!auth) co_return auth.problem();
  if (!privacy) co_return privacy.problem();
  std::vector<snmp::VarBind> both;
  both.push_back(octets(user_at(UserColumn::own_auth_key_change), *auth));
  both.push_back(octets(user_at(UserColumn::own_privacy_key_change), *privacy));
  std::string failure = co_await hand_.set(plan_.abouts(goal_.user, goal_.user).front(), std::move(both),
                                           [this] { return who_opens(); });
  co_return failure;
}

/// Of the user alone, not of what goes before it.
std::vector<std::string> Rekeying::new_user_abouts() const {
  KeyPlan plan = plan_;
  plan.half_made = false;
  return plan.abouts(goal_.user, old_keys_.user);
}

/// Made from the user that opened the unit, and given keys of its own before it is in force.
snmp::Task<std::string> Rekeying::add_user() {
  const std::vector<std::string> abouts = new_user_abouts();
  const auto status_is = [this](bool in_force_too) {
    return [this, in_force_too]() -> snmp::Task<Seen> {
      std::vector<smi::Oid> status;
      status.push_back(user_at(UserColumn::status));
      const Surveyed read = co_await hand_.read(std::move(status));
      if (!read) co_return Seen::unknown;
      const smi::Value& value = read.found.at(user_at(UserColumn::status));
      const bool there = !value.absent() && (!in_force_too || in_force(static_cast<int>(value.number)));
      co_return there ? Seen::done : Seen::not_done;
    };
  };
  if (plan_.half_made) {
    const KeyPlan::Rows rows{true, at_first_.groups.count(goal_.user) > 0};
    std::string left = co_await remove_user(hand_, engine_id_, goal_.user, rows);
    if (!left.empty()) co_return left;
    at_first_.users.erase(goal_.user);
    at_first_.groups.erase(goal_.user);
  }
  std::vector<snmp::VarBind> made;
  made.push_back(number(user_at(UserColumn::status), create_and_wait));
  made.push_back({user_at(UserColumn::clone_from),
                  smi::Value::of_oid(user_instance(UserColumn::security_name, engine_id_, old_keys_.user))});
  const KeyHand::Look is_there = status_is(false);
  std::string failure = co_await hand_.set(abouts[0], std::move(made), is_there);
  if (!failure.empty()) co_return failure;
  failure = co_await give_keys();
  if (!failure.empty()) co_return failure;
  std::vector<snmp::VarBind> go;
  go.push_back(number(user_at(UserColumn::status), active));
  const KeyHand::Look is_in_force = status_is(true);
  failure = co_await hand_.set(abouts[2], std::move(go), is_in_force);
  if (!failure.empty() || !plan_.joins) co_return failure;
  failure = co_await join_group();
  co_return failure;
}

/// RFC 3414 section 5, usmUserPublic: a value drawn for this SET shows that it was carried out.
snmp::Task<std::string> Rekeying::give_keys() {
  const auto auth = snmp::key_change(goal_.auth, old_keys_.auth_key, new_keys_.auth_key,
                                     tools_.random(new_keys_.auth_key.size()));
  const auto privacy = snmp::key_change(goal_.auth, old_keys_.privacy_key, new_keys_.privacy_key,
                                        tools_.random(new_keys_.privacy_key.size()));
  if (!auth) co_return auth.problem();
  if (!privacy) co_return privacy.problem();
  const std::string drawn = tools_.random(public_octets);
  std::vector<snmp::VarBind> keys;
  keys.push_back(octets(user_at(UserColumn::auth_key_change), *auth));
  keys.push_back(octets(user_at(UserColumn::privacy_key_change), *privacy));
  keys.push_back(octets(user_at(UserColumn::user_public), drawn));
  const auto is_taken = [this, drawn]() -> snmp::Task<Seen> {
    std::vector<smi::Oid> shown;
    shown.push_back(user_at(UserColumn::user_public));
    const Surveyed read = co_await hand_.read(std::move(shown));
    if (!read) co_return Seen::unknown;
    co_return read.found.at(user_at(UserColumn::user_public)).octets == drawn ? Seen::done : Seen::not_done;
  };
  const KeyHand::Look look = is_taken;
  std::string failure = co_await hand_.set(new_user_abouts()[1], std::move(keys), look);
  co_return failure;
}

snmp::Task<std::string> Rekeying::join_group() {
  const smi::Oid name = group_instance(GroupColumn::group_name, goal_.user);
  const smi::Oid status = group_instance(GroupColumn::status, goal_.user);
  const bool there = at_first_.groups.count(goal_.user) > 0;
  std::vector<snmp::VarBind> row;
  row.push_back(octets(name, plan_.group));
  if (!there) row.push_back(number(status, create_and_go));
  const auto is_member = [this, name]() -> snmp::Task<Seen> {
    std::vector<smi::Oid> group;
    group.push_back(name);
    const Surveyed read = co_await hand_.read(std::move(group));
    if (!read) co_return Seen::unknown;
    co_return read.found.at(name).octets == plan_.group ? Seen::done : Seen::not_done;
  };
  const KeyHand::Look look = is_member;
  std::string failure = co_await hand_.set(new_user_abouts()[3], std::move(row), look);
  co_return failure;
}

/// The new keys read and write.
snmp::Task<std::string> Rekeying::prove() {
  const Tried tried = co_await open_surely(hand_, new_way_);
  if (tried.kind != Tried::Kind::opens) co_return fmt::format("the new keys do not open it: {}", tried.why);
  const Tried reigns = co_await in_charge(hand_);
  if (reigns.kind == Tried::Kind::opens) co_return std::string();
  unproven_ = reigns.kind == Tried::Kind::silent;
  co_return fmt::format("user {} is not known to be in charge of it: {}", goal_.user, reigns.why);
}

/// Twice where the unit acknowledged it and did not do it: once may be a mishap.
snmp::Task<std::string> Rekeying::remove_users() {
  std::map<std::string, KeyPlan::Rows> left = plan_.remove;
  for (int time = 0; time < 2 && !left.empty(); ++time) {
    for (const auto& [user, rows] : left) {
      std::string failure = co_await remove_user(hand_, engine_id_, user, rows);
      if (!failure.empty()) co_return failure;
    }
    const auto error = co_await hand_.look();
    if (error) co_return "its users could not be read any more: " + error->text;
    for (auto& [user, rows] : left)
      rows = {hand_.users().users.count(user) > 0, hand_.users().groups.count(user) > 0};
    std::erase_if(left, [](const auto& one) { return !one.second.user && !one.second.group; });
  }
  co_return std::string();
}

/// What opened the unit before, where that is not to open it any more.
snmp::Task<std::string> Rekeying::old_is_refused() {
  const bool removed = plan_.remove.count(old_keys_.user) > 0;
  if (!plan_.own_keys && !removed) co_return std::string();
  const Tried tried = co_await open_surely(hand_, old_way_);
  const Tried again = co_await open_surely(hand_, new_way_);
  if (again.kind != Tried::Kind::opens) co_return fmt::format("then they did not open it: {}", again.why);
  if (tried.kind == Tried::Kind::opens || tried.kind == Tried::Kind::no_access)
    co_return fmt::format("{} still opens it", old_way_.name);
  co_return std::string();
}

snmp::Task<std::string> Rekeying::others_are_as_before() {
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

/// Takes the user and its place in a group out again, as far as they were not there at first.
snmp::Task<std::string> Rekeying::take_user_out() {
  const auto error = co_await hand_.look();
  if (error) co_return error->text;
  const bool joined = hand_.users().groups.count(goal_.user) > 0 && at_first_.groups.count(goal_.user) == 0;
  const bool there = hand_.users().users.count(goal_.user) > 0;
  std::string failure = co_await remove_user(hand_, engine_id_, goal_.user, {there, joined});
  co_return failure;
}

/// Open by what opened it before, with the users that it had. Empty, or what is not so.
snmp::Task<std::string> Rekeying::is_as_at_first() {
  const Tried still = co_await open_surely(hand_, old_way_);
  if (still.kind != Tried::Kind::opens) co_return still.why;
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
  if (tried.kind != Tried::Kind::opens) {
    const Tried by_new = co_await open_surely(hand_, new_way_);
    const bool new_opens = by_new.kind == Tried::Kind::opens;
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
