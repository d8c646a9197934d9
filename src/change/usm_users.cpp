#include "change/usm_users.h"

#include <algorithm>
#include <array>
#include <utility>

#include "smi/words.h"

namespace vergeset::change {

namespace {

constexpr std::size_t most_rows_read = 512;
constexpr std::uint32_t usm = 3;

const smi::Oid& user_entry() {
  static const smi::Oid oid{1, 3, 6, 1, 6, 3, 15, 1, 2, 2, 1};
  return oid;
}

const smi::Oid& group_entry() {
  static const smi::Oid oid{1, 3, 6, 1, 6, 3, 16, 1, 2, 1};
  return oid;
}

smi::Oid with_text(const smi::Oid& oid, const std::string& text) {
  std::vector<std::uint32_t> arcs(oid.arcs().begin(), oid.arcs().end());
  arcs.push_back(static_cast<std::uint32_t>(text.size()));
  for (const char c : text) arcs.push_back(static_cast<unsigned char>(c));
  return smi::Oid(std::span<const std::uint32_t>(arcs));
}

/// The text that stands with its length at `at` of these arcs, which goes on behind it.
std::optional<std::string> text_at(std::span<const std::uint32_t> arcs, std::size_t& at) {
  if (at >= arcs.size() || arcs[at] > arcs.size() - at - 1) return std::nullopt;
  std::string text;
  const std::size_t size = arcs[at++];
  for (std::size_t i = 0; i < size; ++i, ++at) {
    if (arcs[at] > 255) return std::nullopt;
    text += static_cast<char>(static_cast<unsigned char>(arcs[at]));
  }
  return text;
}

struct Named {
  smi::Oid oid;
  const char* name;
};

std::string name_in(std::span<const Named> all, const smi::Oid& oid) {
  const auto found = std::find_if(all.begin(), all.end(), [&](const Named& one) { return one.oid == oid; });
  return found == all.end() ? oid.str() : found->name;
}

std::uint32_t number_of(UserColumn column) {
  return static_cast<std::uint32_t>(column);
}

/// The error of an answer that never ends.
snmp::Error bad_walk(const std::string& what) {
  return {snmp::Failure::bad_answer, 0, 0, "the unit's table of users cannot be read: " + what};
}

/// One column from its top to its end.
snmp::Task<std::optional<snmp::Error>> walk(snmp::Link& link, smi::Oid column,
                                            std::vector<snmp::VarBind>& out) {
  smi::Oid at = column;
  while (true) {
    std::vector<smi::Oid> asked;
    asked.push_back(at);
    snmp::Answer answer = co_await link.get_bulk(std::move(asked), 16);
    if (!answer) co_return answer.error();
    std::vector<snmp::VarBind> values = answer.take();
    if (values.empty()) co_return bad_walk("it answers a GETBULK with nothing");
    for (snmp::VarBind& one : values) {
      if (one.value.absent() || !one.oid.within(column)) co_return std::optional<snmp::Error>();
      if (!(one.oid > at)) co_return bad_walk("it goes round in circles");
      if (out.size() >= most_rows_read) co_return bad_walk("it has more than 512 rows");
      at = one.oid;
      out.push_back(std::move(one));
    }
  }
}

/// The user of an instance, where it is one of this engine.
std::optional<std::string> user_of(const smi::Oid& instance, UserColumn column,
                                   const std::string& engine_id) {
  const smi::Oid tail = instance.tail(user_entry().child(number_of(column)));
  std::size_t at = 0;
  const auto engine = text_at(tail.arcs(), at);
  if (!engine || *engine != engine_id) return std::nullopt;
  return text_at(tail.arcs(), at);
}

void take(UserColumn column, const smi::Value& value, UnitUser& user) {
  if (column == UserColumn::status) user.status = static_cast<int>(value.number);
  if (column == UserColumn::storage_type) user.storage = static_cast<int>(value.number);
  if (column == UserColumn::auth_protocol) user.auth = auth_protocol_name(*value.oid);
  if (column == UserColumn::privacy_protocol) user.privacy = privacy_protocol_name(*value.oid);
}

}  // namespace

const smi::Oid& user_spin_lock() {
  static const smi::Oid oid{1, 3, 6, 1, 6, 3, 15, 1, 2, 1, 0};
  return oid;
}

smi::Oid user_instance(UserColumn column, const std::string& engine_id, const std::string& user) {
  return with_text(with_text(user_entry().child(number_of(column)), engine_id), user);
}

smi::Oid group_instance(GroupColumn column, const std::string& user) {
  return with_text(group_entry().child(static_cast<std::uint32_t>(column)).child(usm), user);
}

bool is_key_change(const smi::Oid& instance) {
  using enum UserColumn;
  constexpr std::array keys{auth_key_change, own_auth_key_change, privacy_key_change, own_privacy_key_change};
  return std::any_of(keys.begin(), keys.end(), [&](UserColumn column) {
    return instance.within(user_entry().child(number_of(column)));
  });
}

bool is_group_name(const smi::Oid& instance) {
  return instance.within(group_entry().child(static_cast<std::uint32_t>(GroupColumn::group_name)));
}

std::string user_object_name(const smi::Oid& instance) {
  if (instance == user_spin_lock()) return "usmUserSpinLock.0";
  constexpr std::array<const char*, 14> users{"",
                                              "",
                                              "",
                                              "usmUserSecurityName",
                                              "usmUserCloneFrom",
                                              "usmUserAuthProtocol",
                                              "usmUserAuthKeyChange",
                                              "usmUserOwnAuthKeyChange",
                                              "usmUserPrivProtocol",
                                              "usmUserPrivKeyChange",
                                              "usmUserOwnPrivKeyChange",
                                              "usmUserPublic",
                                              "usmUserStorageType",
                                              "usmUserStatus"};
  constexpr std::array<const char*, 6> groups{
      "", "", "", "vacmGroupName", "vacmSecurityToGroupStorageType", "vacmSecurityToGroupStatus"};
  const bool of_user = instance.within(user_entry());
  if (!of_user && !instance.within(group_entry())) return {};
  const smi::Oid tail = instance.tail(of_user ? user_entry() : group_entry());
  if (tail.empty()) return {};
  const std::uint32_t column = tail.arcs()[0];
  if (column < 3 || column >= (of_user ? users.size() : groups.size())) return {};
  const std::string name = of_user ? users[column] : groups[column];
  // Behind the engine id, or the security model.
  std::size_t at = of_user ? 1 : 2;
  const bool indexed = !of_user || text_at(tail.arcs(), at).has_value();
  const auto user = indexed ? text_at(tail.arcs(), at) : std::nullopt;
  return user ? name + " of " + smi::escaped(*user) : name;
}

std::string auth_protocol_name(const smi::Oid& protocol) {
  static const std::array<Named, 7> known{{{{1, 3, 6, 1, 6, 3, 10, 1, 1, 1}, "none"},
                                           {{1, 3, 6, 1, 6, 3, 10, 1, 1, 2}, "MD5"},
                                           {{1, 3, 6, 1, 6, 3, 10, 1, 1, 3}, "SHA-1"},
                                           {{1, 3, 6, 1, 6, 3, 10, 1, 1, 4}, "SHA-224"},
                                           {{1, 3, 6, 1, 6, 3, 10, 1, 1, 5}, "SHA-256"},
                                           {{1, 3, 6, 1, 6, 3, 10, 1, 1, 6}, "SHA-384"},
                                           {{1, 3, 6, 1, 6, 3, 10, 1, 1, 7}, "SHA-512"}}};
  return name_in(known, protocol);
}

std::string privacy_protocol_name(const smi::Oid& protocol) {
  static const std::array<Named, 7> known{{{{1, 3, 6, 1, 6, 3, 10, 1, 2, 1}, "none"},
                                           {{1, 3, 6, 1, 6, 3, 10, 1, 2, 2}, "DES"},
                                           {{1, 3, 6, 1, 6, 3, 10, 1, 2, 4}, "AES-128"},
                                           {{1, 3, 6, 1, 4, 1, 14832, 1, 3}, "AES-192"},
                                           {{1, 3, 6, 1, 4, 1, 14832, 1, 4}, "AES-256"},
                                           {{1, 3, 6, 1, 4, 1, 9, 12, 6, 1, 1}, "AES-192"},
                                           {{1, 3, 6, 1, 4, 1, 9, 12, 6, 1, 2}, "AES-256"}}};
  return name_in(known, protocol);
}

snmp::Task<UsersRead> read_users(snmp::Link& link) {
  UsersRead read;
  std::vector<smi::Oid> lock;
  lock.push_back(user_spin_lock());
  const snmp::Answer locked = co_await link.get(std::move(lock));
  if (!locked) {
    read.error = locked.error();
    co_return read;
  }
  const smi::Value& value = locked.varbinds().front().value;
  if (value.type == smi::Type::integer) read.found.spin_lock = value.number;
  const std::string engine_id = link.engine().id;
  for (const UserColumn column : {UserColumn::auth_protocol, UserColumn::privacy_protocol,
                                  UserColumn::storage_type, UserColumn::status}) {
    std::vector<snmp::VarBind> column_values;
    read.error = co_await walk(link, user_entry().child(number_of(column)), column_values);
    if (read.error) co_return read;
    for (const snmp::VarBind& one : column_values) {
      const auto name = user_of(one.oid, column, engine_id);
      if (!name) continue;
      read.found.users[*name].name = *name;
      take(column, one.value, read.found.users[*name]);
    }
  }
  std::vector<snmp::VarBind> groups;
  const smi::Oid by_usm = group_entry().child(static_cast<std::uint32_t>(GroupColumn::group_name)).child(usm);
  read.error = co_await walk(link, by_usm, groups);
  for (const snmp::VarBind& one : groups) {
    const smi::Oid tail = one.oid.tail(by_usm);
    std::size_t at = 0;
    const auto name = text_at(tail.arcs(), at);
    if (name) read.found.groups[*name] = one.value.octets;
  }
  co_return read;
}

}  // namespace vergeset::change
