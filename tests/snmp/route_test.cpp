#include "snmp/route.h"

#include "catch.h"

using namespace vergeset;

namespace {

std::string fault(const std::string& host) {
  const auto address = snmp::resolve(host, 0);
  REQUIRE(address);
  return snmp::never_a_unit(*address).value_or("");
}

}  // namespace

TEST_CASE("addresses that no unit can have are told by what they are for") {
  using Catch::Contains;
  CHECK_THAT(fault("0.0.0.0"), Contains("no address at all"));  // RFC 1122 3.2.1.3 (a)
  CHECK_THAT(fault("0.1.2.3"), Contains("this network"));       // RFC 1122 3.2.1.3 (b)
  CHECK_THAT(fault("255.255.255.255"), Contains("broadcast"));  // RFC 919 section 7
  CHECK_THAT(fault("224.0.0.1"), Contains("multicast"));        // RFC 1112 section 4
  CHECK_THAT(fault("239.255.255.250"), Contains("multicast"));  // the end of class D
  CHECK_THAT(fault("240.0.0.1"), Contains("reserved"));         // RFC 1112 section 4, class E
  CHECK_THAT(fault("::"), Contains("no address at all"));       // RFC 4291 2.5.2
  CHECK_THAT(fault("ff02::1"), Contains("multicast"));          // RFC 4291 2.7
  CHECK_THAT(fault("fe80::1"), Contains("fe80::1%eth0"));       // RFC 4007 section 11
  CHECK_THAT(fault("febf::1"), Contains("link-local"));         // fe80::/10, RFC 4291 2.4
}

TEST_CASE("addresses that a unit can have are plausible, those for documentation among them") {
  for (const char* host :
       {"10.77.1.4", "192.168.1.1", "223.255.255.254", "127.77.1.4", "192.0.2.7",  // RFC 5737
        "203.0.113.7", "10.77.1.0", "::1", "fd77::4", "2001:db8::7", "fe80::1%lo"}) {
    INFO(host);
    CHECK(fault(host).empty());
  }
}

TEST_CASE("a name that leads to no address is told") {
  const snmp::Way way = snmp::way_to("no such host");
  CHECK(way.address.empty());
  CHECK_THAT(way.fault, Catch::Contains("no such host"));
}

TEST_CASE("an address of the loopback interface is this machine itself") {
  // RFC 1122 3.2.1.3 (g).
  const snmp::Way way = snmp::way_to("127.122.0.1");
  CHECK(way.fault.empty());
  CHECK(way.kind == snmp::Way::Kind::here);
  CHECK(way.interface == "lo");
  CHECK_THAT(snmp::way_to("127.255.255.255").fault,
             Catch::Contains("broadcast address of the subnet 127.0.0.0/8"));
}
