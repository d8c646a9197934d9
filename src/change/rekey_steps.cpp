#include <fmt/format.h>

#include <map>
#include <utility>

#include "change/rekey_unit.h"
#include "change/survey.h"
#include "smi/words.h"
#include "snmp/key_change.h"

/// The SETs of a change of keys, in the order in which they are sent.
namespace vergeset::change {

namespace {

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

/// In tables of users a row that is there is one of these (RFC 2579).
bool in_force(int status) {
  return status == active || status == create_and_go;
}

}  // namespace

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

std::string own_keys_about(const std::string& user) {
  return fmt::format("give user {} new keys", user);
}

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
  if (own_keys) all.push_back(own_keys_about(user));
  if (given_keys) all.push_back(fmt::format("give user {} new keys, by user {}", user, opener));
  if (half_made) all.push_back(removal_about(user));
  if (new_user) {
    all.push_back(fmt::format("add user {}, made from {}", user, opener));
    all.push_back(fmt::format("give user {} keys of its own", user));
    all.push_back(fmt::format("put user {} in force", user));
  }
  if (joins) all.push_back(fmt::format("add user {} to group {}", user, smi::escaped(group)));
  for (const auto& [one, rows] : remove) {
    if (rows.user) all.push_back(removal_about(one));
    if (rows.group) all.push_back(leaving_about(one));
  }
  return all;
}

/// From the keys before to the new ones (RFC 3414 section 5).
Result<std::vector<snmp::VarBind>> Rekeying::key_changes(UserColumn auth_column,
                                                         UserColumn privacy_column) const {
  const auto auth = snmp::key_change(goal_.auth, old_keys_.auth_key, new_keys_.auth_key,
                                     tools_.random(new_keys_.auth_key.size()));
  const auto privacy = snmp::key_change(goal_.auth, old_keys_.privacy_key, new_keys_.privacy_key,
                                        tools_.random(new_keys_.privacy_key.size()));
  if (!auth) return Problem{auth.problem()};
  if (!privacy) return Problem{privacy.problem()};
  return std::vector<snmp::VarBind>{octets(user_at(auth_column), *auth),
                                    octets(user_at(privacy_column), *privacy)};
}

snmp::Task<std::string> Rekeying::set_own_keys() {
  auto both = key_changes(UserColumn::own_auth_key_change, UserColumn::own_privacy_key_change);
  if (!both) co_return both.problem();
  std::string failure = co_await hand_.set(plan_.abouts(goal_.user, goal_.user).front(), *std::move(both),
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
  failure = co_await give_keys(abouts[1]);
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
snmp::Task<std::string> Rekeying::give_keys(std::string about) {
  auto changes = key_changes(UserColumn::auth_key_change, UserColumn::privacy_key_change);
  if (!changes) co_return changes.problem();
  const std::string drawn = tools_.random(public_octets);
  std::vector<snmp::VarBind> keys = *std::move(changes);
  keys.push_back(octets(user_at(UserColumn::user_public), drawn));
  const auto is_taken = [this, drawn]() -> snmp::Task<Seen> {
    std::vector<smi::Oid> shown;
    shown.push_back(user_at(UserColumn::user_public));
    const Surveyed read = co_await hand_.read(std::move(shown));
    if (!read) co_return Seen::unknown;
    co_return read.found.at(user_at(UserColumn::user_public)).octets == drawn ? Seen::done : Seen::not_done;
  };
  const KeyHand::Look look = is_taken;
  std::string failure = co_await hand_.set(std::move(about), std::move(keys), look);
  // RFC 3414 usmUserAuthKeyChange: inconsistentName where usmUserCloneFrom was not set before.
  if (plan_.given_keys && failure.find("inconsistentName") != std::string::npos)
    failure += "; some agents change no keys of a user that was not made from another (usmUserCloneFrom)";
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

/// Takes the user and its place in a group out again, as far as they were not there at first.
snmp::Task<std::string> Rekeying::take_user_out() {
  const auto error = co_await hand_.look();
  if (error) co_return error->text;
  const bool joined = hand_.users().groups.count(goal_.user) > 0 && at_first_.groups.count(goal_.user) == 0;
  const bool there = hand_.users().users.count(goal_.user) > 0;
  std::string failure = co_await remove_user(hand_, engine_id_, goal_.user, {there, joined});
  co_return failure;
}

}  // namespace vergeset::change
