#include <algorithm>
#include <cstdlib>

#include "snmp/conversation.h"
#include "snmp/library.h"

using namespace vergeset;
using namespace vergeset::tests;

namespace {

/// Configuration that net-snmp would read and state that it would write, put in its way before any of
/// it starts.
struct Bait {
  TemporaryFolder folder;
  Bait() {
    const std::string path = folder.path().string();
    std::ofstream(path + "/snmp.conf") << "defSecurityName from-the-file\nmibs ALL\nmibdirs " << path << '\n';
    std::ofstream(path + "/vergeset.conf") << "defSecurityName from-the-file\n";
    std::ofstream(path + "/LARKMOOR-MIB")
        << "LARKMOOR-MIB DEFINITIONS ::= BEGIN\nlarkmoor OBJECT IDENTIFIER ::= { iso 9 }\nEND\n";
    setenv("SNMPCONFPATH", path.c_str(), 1);
    setenv("SNMP_PERSISTENT_DIR", (path + "/state").c_str(), 1);
    setenv("MIBDIRS", path.c_str(), 1);
    setenv("MIBS", "ALL", 1);
  }
};
const Bait bait;

}  // namespace

TEST_CASE("the library reads no configuration and no MIB, and writes no state") {
  const Snmpd& agent = common_agent();
  {
    snmp::UdpNetwork network;
    const auto link = opened(network, at(agent.port()), principal_of("keeper"));
    CHECK(finish(network, link->get({sys_descr})));
  }
  CHECK(netsnmp_ds_get_string(NETSNMP_DS_LIBRARY_ID, NETSNMP_DS_LIB_SECNAME) == nullptr);
  CHECK(find_tree_node("larkmoor", -1) == nullptr);
  CHECK_FALSE(std::filesystem::exists(bait.folder.path() / "state"));
}
