#include <cstdio>
#include <map>

#include "catch.h"
#include "schema/facts.h"

using namespace vergeset::schema;

namespace {

/// The identifiers of a module as net-snmp reads them: name to OID.
std::map<std::string, std::string> as_net_snmp_reads(const std::string& module) {
  const std::string command = "SNMPCONFPATH=/nonexistent snmptranslate -M '" SOURCE_DIR
                              "/tests/schema/mibs' -m " +
                              module + " -Tz 2>&1";
  std::map<std::string, std::string> oids;
  FILE* pipe = popen(command.c_str(), "r");
  REQUIRE(pipe != nullptr);
  char line[512];
  while (std::fgets(line, sizeof line, pipe) != nullptr) {
    char name[256];
    char oid[256];
    INFO(line);
    REQUIRE(std::sscanf(line, "\"%255[^\"]\" \"%255[^\"]\"", name, oid) == 2);
    oids[name] = oid;
  }
  CHECK(pclose(pipe) == 0);
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

}  // namespace

TEST_CASE("net-snmp reads the same identifiers from an SMIv2 module of NTCIP 1218 v01") {
  check_module("NTCIP1218-TEST", "ntcip1218-v01", 243);
}

TEST_CASE("net-snmp reads the same identifiers from an SMIv2 module of RSU 4.1") {
  check_module("RSU41-TEST", "rsu-4.1", 119);
}
