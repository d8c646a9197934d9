#include <fmt/format.h>

#include <cstdio>
#include <map>
#include <sstream>

#include "catch.h"
#include "schema/facts.h"

using namespace vergeset;
using namespace vergeset::schema;

namespace {

/// What net-snmp's snmptranslate says of a module, line by line.
std::vector<std::string> translated(const std::string& module, const std::string& words) {
  const std::string command = "SNMPCONFPATH=/nonexistent snmptranslate -M '" SOURCE_DIR
                              "/tests/schema/mibs' -m " +
                              module + " " + words + " 2>&1";
  std::vector<std::string> lines;
  FILE* pipe = popen(command.c_str(), "r");
  REQUIRE(pipe != nullptr);
  char line[512];
  while (std::fgets(line, sizeof line, pipe) != nullptr) lines.emplace_back(line);
  CHECK(pclose(pipe) == 0);
  return lines;
}

/// The identifiers of a module as net-snmp reads them: name to OID.
std::map<std::string, std::string> as_net_snmp_reads(const std::string& module) {
  std::map<std::string, std::string> oids;
  for (const std::string& line : translated(module, "-Tz")) {
    char name[256];
    char oid[256];
    INFO(line);
    REQUIRE(std::sscanf(line.c_str(), "\"%255[^\"]\" \"%255[^\"]\"", name, oid) == 2);
    oids[name] = oid;
  }
  return oids;
}

void check_module(const std::string& module, const std::string& name, std::size_t count) {
  const Model& model = *shipped().model(name);
  const auto oids = as_net_snmp_reads(module);
  std::size_t compared = 0;
  for (const auto& [object_name, object] : model.objects) {
    if (!object.oid.within(model.root)) continue;
    INFO(object_name);
    REQUIRE(oids.count(object_name) == 1);
    CHECK(object.oid.str() == oids.at(object_name));
    ++compared;
  }
  for (const auto& [table_name, table] : model.tables) {
    INFO(table_name);
    const std::string entry = table_name.substr(0, table_name.size() - 5) + "Entry";
    REQUIRE(oids.count(table_name) == 1);
    CHECK(table.oid.str() == oids.at(table_name));
    CHECK(table.entry.str() == oids.at(entry));
    ++compared;
  }
  CHECK(compared == count);
}

/// The part of a line behind a word; nothing where the line does not have it.
std::string behind(const std::string& line, const std::string& word) {
  const std::size_t at = line.find(word);
  if (at == std::string::npos) return "";
  const std::string rest = line.substr(at + word.size());
  return rest.substr(0, rest.find_last_not_of(" \n") + 1);
}

/// Each object of a module as net-snmp's tree shows it: "-RW- EnumVal off(0), on(1)"; and each row by
/// its index.
std::map<std::string, std::string> as_net_snmp_shows(const std::string& module, const std::string& root) {
  std::map<std::string, std::string> shown;
  std::string name;
  for (const std::string& line : translated(module, "-Tp ." + root)) {
    const std::string node = behind(line, "+--");
    if (!node.empty()) {
      std::istringstream words(node);
      std::string access;
      std::string type;
      if (node[0] == ' ') words >> access >> type;
      words >> name;
      name.resize(name.find('('));
      shown[name] = access + " " + type;
    }
    for (const char* key : {"Values: ", "Range: ", "Size: ", "Index: "}) {
      if (const std::string limits = behind(line, key); !limits.empty()) shown[name] += " " + limits;
    }
  }
  return shown;
}

std::string limits_of(const smi::Syntax& syntax) {
  switch (syntax.form) {
    case smi::Form::mac:
      return " 6";
    case smi::Form::date_time:
      return " 8 | 11";
    case smi::Form::minute_stamp:
      return " 0 | 6";
    case smi::Form::time_of_day:
      return " 3";
    case smi::Form::address_octets:
      return " 16";
    case smi::Form::octet_number:
      return " 1";
    default:
      break;
  }
  // RFC 2579, DisplayString
  if (syntax.form == smi::Form::display_string && syntax.ranges.empty()) return " 0..255";
  std::string text;
  for (const smi::Label& label : syntax.labels) {
    text += fmt::format("{}{}({})", text.empty() ? " " : ", ", label.name, label.number);
  }
  for (const smi::Range& range : syntax.ranges) {
    text += fmt::format("{}{}..{}", text.empty() ? " " : " | ", range.low, range.high);
  }
  return text;
}

std::string type_of(const smi::Syntax& syntax) {
  if (syntax.form == smi::Form::bits) return "BitString";
  if (!syntax.labels.empty()) return "EnumVal";
  switch (syntax.wire()) {
    case smi::Type::integer:
      return "Integer32";
    case smi::Type::counter32:
      return "Counter";
    case smi::Type::object_id:
      return "ObjID";
    default:
      return "String";
  }
}

std::string letters_of(Access access) {
  switch (access) {
    case Access::not_accessible:
      return "---- ";
    case Access::read_only:
      return "-R-- ";
    case Access::read_write:
      return "-RW- ";
    case Access::read_create:
      return "CR-- ";
  }
  return "";
}

void check_tree(const std::string& module, const std::string& name, std::size_t count) {
  const Model& model = *shipped().model(name);
  const auto shown = as_net_snmp_shows(module, model.root.str());
  std::size_t compared = 0;
  for (const auto& [object_name, object] : model.objects) {
    if (!object.oid.within(model.root)) continue;
    INFO(object_name);
    REQUIRE(shown.count(object_name) == 1);
    CHECK(letters_of(object.access) + type_of(object.syntax) + limits_of(object.syntax) ==
          shown.at(object_name));
    ++compared;
  }
  for (const auto& [table_name, table] : model.tables) {
    INFO(table_name);
    const std::string entry = table_name.substr(0, table_name.size() - 5) + "Entry";
    CHECK(shown.at(entry) == "  " + table.index);
    ++compared;
  }
  CHECK(compared == count);
}

}  // namespace

TEST_CASE("net-snmp reads the same identifiers from an SMIv2 module of NTCIP 1218 v01") {
  check_module("NTCIP1218-TEST", "ntcip1218-v01", 243);
}

TEST_CASE("net-snmp reads the same identifiers from an SMIv2 module of RSU 4.1") {
  check_module("RSU41-TEST", "rsu-4.1", 119);
}

TEST_CASE("net-snmp reads the same access, type, limits and indexes from them") {
  check_tree("NTCIP1218-TEST", "ntcip1218-v01", 243);
  check_tree("RSU41-TEST", "rsu-4.1", 119);
}
