#include "sim/access_tables.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <sstream>
#include <stdexcept>

#include "smi/value.h"

namespace vergeset::sim {

using nlohmann::json;

namespace {

constexpr int volatile_storage = 2;

template <class Row>
void drop_volatile(std::vector<Row>& rows) {
  std::erase_if(rows, [](const Row& row) { return row.storage == volatile_storage; });
}

json row_of(const AccessTables::User& user) {
  return {{"table", "usmUserTable"},
          {"engine", smi::to_hex(user.engine_id)},
          {"name", smi::to_hex(user.name)},
          {"security-name", smi::to_hex(user.security_name)},
          {"clone-from", user.clone_from.str()},
          {"auth", user.auth_protocol.str()},
          {"privacy", user.privacy_protocol.str()},
          {"auth-key", smi::to_hex(user.auth_key)},
          {"privacy-key", smi::to_hex(user.privacy_key)},
          {"public", smi::to_hex(user.public_value)},
          {"status", user.status},
          {"storage", user.storage}};
}

json row_of(const AccessTables::Group& group) {
  return {{"table", "vacmSecurityToGroupTable"},
          {"model", group.model},
          {"security-name", smi::to_hex(group.security_name)},
          {"group", smi::to_hex(group.group)},
          {"status", group.status},
          {"storage", group.storage}};
}

json row_of(const AccessTables::Access& access) {
  return {{"table", "vacmAccessTable"},
          {"group", smi::to_hex(access.group)},
          {"prefix", smi::to_hex(access.context_prefix)},
          {"model", access.model},
          {"level", access.level},
          {"match", access.context_match},
          {"read", smi::to_hex(access.views[0])},
          {"write", smi::to_hex(access.views[1])},
          {"notify", smi::to_hex(access.views[2])},
          {"status", access.status},
          {"storage", access.storage}};
}

json row_of(const AccessTables::View& view) {
  return {{"table", "vacmViewTreeFamilyTable"},
          {"name", smi::to_hex(view.name)},
          {"subtree", view.subtree.str()},
          {"mask", smi::to_hex(view.mask)},
          {"type", view.type},
          {"status", view.status},
          {"storage", view.storage}};
}

/// A line that is read; what is missing or wrong in it is thrown.
class Line {
 public:
  explicit Line(const json& row) : row_(row) {}

  std::string text(const char* key) const { return row_.at(key).get<std::string>(); }
  int number(const char* key) const { return row_.at(key).get<int>(); }
  std::string octets(const char* key) const { return sound(smi::from_hex(text(key)), key); }
  smi::Oid oid(const char* key) const {
    const std::string written = text(key);
    return written.empty() ? smi::Oid() : sound(smi::Oid::parse(written), key);
  }

 private:
  template <class Read>
  static Read sound(const Result<Read>& read, const char* key) {
    if (!read) throw std::invalid_argument(fmt::format("{}: {}", key, read.problem()));
    return *read;
  }

  const json& row_;
};

void take_row(AccessTables& tables, const Line& line) {
  const std::string table = line.text("table");
  const int status = line.number("status");
  const int storage = line.number("storage");
  if (table == "usmUserTable")
    tables.users.push_back({line.octets("engine"), line.octets("name"), line.octets("security-name"),
                            line.oid("clone-from"), line.oid("auth"), line.oid("privacy"),
                            line.octets("auth-key"), line.octets("privacy-key"), line.octets("public"),
                            status, storage});
  else if (table == "vacmSecurityToGroupTable")
    tables.groups.push_back(
        {line.number("model"), line.octets("security-name"), line.octets("group"), status, storage});
  else if (table == "vacmAccessTable")
    tables.accesses.push_back({line.octets("group"),
                               line.octets("prefix"),
                               line.number("model"),
                               line.number("level"),
                               line.number("match"),
                               {line.octets("read"), line.octets("write"), line.octets("notify")},
                               status,
                               storage});
  else if (table == "vacmViewTreeFamilyTable")
    tables.views.push_back({line.octets("name"), line.oid("subtree"), line.octets("mask"),
                            line.number("type"), status, storage});
  else
    throw std::invalid_argument("there is no table '" + table + "'");
}

}  // namespace

AccessTables lasting(AccessTables tables) {
  drop_volatile(tables.users);
  drop_volatile(tables.groups);
  drop_volatile(tables.accesses);
  drop_volatile(tables.views);
  return tables;
}

std::string access_text(const AccessTables& tables) {
  std::string text;
  const auto add = [&](const auto& rows) {
    for (const auto& row : rows) text += row_of(row).dump() + "\n";
  };
  add(tables.users);
  add(tables.groups);
  add(tables.accesses);
  add(tables.views);
  return text;
}

Result<AccessTables> access_of_text(const std::string& text) {
  AccessTables tables;
  std::istringstream lines(text);
  std::string written;
  for (int number = 1; std::getline(lines, written); ++number) {
    const json row = json::parse(written, nullptr, false);
    if (!row.is_object()) return Problem{fmt::format("line {}: is no JSON object", number)};
    try {
      take_row(tables, Line(row));
    } catch (const json::exception&) {
      return Problem{fmt::format("line {}: a member is missing or of the wrong kind", number)};
    } catch (const std::invalid_argument& wrong) {
      return Problem{fmt::format("line {}: {}", number, wrong.what())};
    }
  }
  if (tables.users.empty()) return Problem{"knows no user"};
  return tables;
}

}  // namespace vergeset::sim
