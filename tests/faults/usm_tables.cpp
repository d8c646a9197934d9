#include "usm_tables.h"

#include "snmp/key_change.h"

namespace vergeset::faults {

namespace {

const smi::Oid usm_users{1, 3, 6, 1, 6, 3, 15, 1, 2};
const smi::Oid spin_lock{1, 3, 6, 1, 6, 3, 15, 1, 2, 1, 0};
const smi::Oid user_entry{1, 3, 6, 1, 6, 3, 15, 1, 2, 2, 1};
const smi::Oid group_entry{1, 3, 6, 1, 6, 3, 16, 1, 2, 1};

smi::Oid with_text(const smi::Oid& oid, const std::string& text) {
  smi::Oid made = oid.child(static_cast<std::uint32_t>(text.size()));
  for (const char c : text) made = made.child(static_cast<unsigned char>(c));
  return made;
}

std::optional<std::string> text_at(const smi::Oid& oid, std::size_t& at) {
  const auto arcs = oid.arcs();
  if (at >= arcs.size() || arcs[at] > arcs.size() - at - 1) return std::nullopt;
  std::string text;
  for (const std::size_t end = at + 1 + arcs[at]; ++at < end;) text += static_cast<char>(arcs[at]);
  return text;
}

smi::Oid auth_oid(const std::string& name) {
  return {1, 3, 6, 1, 6, 3, 10, 1, 1, name == "MD5" ? 2U : name == "SHA-1" ? 3U : 5U};
}

smi::Oid privacy_oid(const std::string& name) {
  return {1, 3, 6, 1, 6, 3, 10, 1, 2, name == "DES" ? 2U : 4U};
}

}  // namespace

void UsmTables::add(const snmp::LocalKeys& keys, const std::string& group) {
  users_[keys.user] = {keys.auth, keys.privacy, keys.auth_key, keys.privacy_key, "", true, 1};
  if (!group.empty()) groups_[keys.user] = group;
}

UsmTables::Verdict UsmTables::lets_in(const snmp::LocalKeys& keys) const {
  const auto user = users_.find(keys.user);
  if (user == users_.end() || user->second.status != 1) return Verdict::unknown_user;
  if (user->second.auth_key != keys.auth_key) return Verdict::wrong_auth;
  return user->second.privacy_key == keys.privacy_key ? Verdict::welcome : Verdict::wrong_privacy;
}

bool UsmTables::owns(const smi::Oid& oid) {
  return oid.within(usm_users) || oid.within(group_entry);
}

std::map<smi::Oid, smi::Value> UsmTables::instances() const {
  std::map<smi::Oid, smi::Value> all;
  all[spin_lock] = smi::Value::integer(lock_);
  for (const auto& [name, user] : users_) {
    const auto at = [&, &name = name](std::uint32_t column) {
      return with_text(with_text(user_entry.child(column), engine_id), name);
    };
    all[at(3)] = smi::Value::of_octets(name);
    all[at(5)] = smi::Value::of_oid(auth_oid(user.auth));
    all[at(8)] = smi::Value::of_oid(privacy_oid(user.privacy));
    for (const std::uint32_t column : {6U, 7U, 9U, 10U}) all[at(column)] = smi::Value::of_octets("");
    all[at(11)] = smi::Value::of_octets(user.shown);
    all[at(12)] = smi::Value::integer(3);
    all[at(13)] = smi::Value::integer(user.status);
  }
  for (const auto& [user, group] : groups_) {
    const auto at = [&user = user](std::uint32_t column) {
      return with_text(group_entry.child(column).child(3), user);
    };
    all[at(3)] = smi::Value::of_octets(group);
    all[at(4)] = smi::Value::integer(3);
    all[at(5)] = smi::Value::integer(1);
  }
  return all;
}

sim::Status UsmTables::set(const std::vector<std::pair<smi::Oid, smi::Value>>& varbinds,
                           const std::string& by) {
  const UsmTables before = *this;
  for (const auto& [oid, value] : varbinds) {
    if (oid == spin_lock && value.number != before.lock_) return sim::Status::inconsistent_value;
  }
  for (const auto& [oid, value] : varbinds) {
    const auto refused = one(oid, value, by);
    if (!refused) continue;
    *this = before;
    return *refused;
  }
  return sim::Status::no_error;
}

std::optional<sim::Status> UsmTables::one(const smi::Oid& oid, const smi::Value& value,
                                          const std::string& by) {
  if (oid == spin_lock) {
    count_lock_on();
    return std::nullopt;
  }
  if (oid.within(user_entry)) {
    const smi::Oid tail = oid.tail(user_entry);
    std::size_t at = 1;
    const auto engine = text_at(tail, at);
    const auto name = engine ? text_at(tail, at) : std::nullopt;
    if (!name || *engine != engine_id) return sim::Status::no_creation;
    const sim::Status status = user_column(tail.arcs()[0], *name, value, by);
    if (status == sim::Status::no_error) return std::nullopt;
    return status;
  }
  const smi::Oid tail = oid.tail(group_entry);
  std::size_t at = 2;
  const auto name = text_at(tail, at);
  if (!name || tail.arcs()[1] != 3) return sim::Status::no_creation;
  if (tail.arcs()[0] == 3) groups_[*name] = value.octets;
  if (tail.arcs()[0] == 5 && value.number == 6) groups_.erase(*name);
  return std::nullopt;
}

sim::Status UsmTables::user_column(std::uint32_t column, const std::string& name, const smi::Value& value,
                                   const std::string& by) {
  const auto found = users_.find(name);
  const bool there = found != users_.end();
  if (column == 13) {
    if (value.number == 6) {
      users_.erase(name);
      return sim::Status::no_error;
    }
    if (value.number == 5) {
      if (there) return sim::Status::inconsistent_value;
      users_[name] = {"", "", "", "", "", false, 3};
      return sim::Status::no_error;
    }
    if (value.number != 1 || !there || !found->second.cloned) return sim::Status::inconsistent_value;
    found->second.status = 1;
    return sim::Status::no_error;
  }
  if (!there) return sim::Status::inconsistent_name;
  User& user = found->second;
  if (column == 4) {
    const smi::Oid tail = value.oid->within(user_entry) ? value.oid->tail(user_entry) : smi::Oid();
    std::size_t at = 1;
    const auto engine = text_at(tail, at);
    const auto from = engine ? text_at(tail, at) : std::nullopt;
    const auto model = from ? users_.find(*from) : users_.end();
    if (model == users_.end() || model->second.status != 1) return sim::Status::inconsistent_name;
    if (user.cloned) return sim::Status::no_error;  // RFC 3414: afterwards it changes nothing
    const std::string shown = user.shown;
    user = model->second;
    user.shown = shown;
    user.status = 2;
    return sim::Status::no_error;
  }
  if (column == 11) {
    user.shown = value.octets;
    return sim::Status::no_error;
  }
  const bool own = column == 7 || column == 10;
  const bool is_auth = column == 6 || column == 7;
  if (own && by != name) return sim::Status::no_access;
  if (column < 6 || column > 10 || column == 8) return sim::Status::not_writable;
  std::string& key = is_auth ? user.auth_key : user.privacy_key;
  const auto changed = snmp::changed_key(user.auth, key, value.octets);
  if (!changed) return sim::Status::wrong_length;
  key = *changed;
  return sim::Status::no_error;
}

}  // namespace vergeset::faults
