#include "change/walk_file.h"

#include "catch.h"

// The samples are what snmpwalk 5.9.3 printed (`snmpwalk -v2c -On`) for an snmpd 5.9.3 on loopback
// that held these values, unless another source stands beside them.

using namespace vergeset;

namespace {

change::AsFound good(const std::string& text) {
  Faults faults;
  change::AsFound found = change::read_walk(text, "unit.walk", faults);
  for (const Fault& fault : faults.sorted()) UNSCOPED_INFO(fault.str());
  REQUIRE_FALSE(faults.any());
  return found;
}

std::vector<Fault> faults_of(const std::string& text) {
  Faults faults;
  static_cast<void>(change::read_walk(text, "unit.walk", faults));
  return faults.sorted();
}

smi::Value only(const std::string& text) {
  const change::AsFound found = good(text);
  REQUIRE(found.instances.size() == 1);
  return found.instances.begin()->second;
}

}  // namespace

TEST_CASE("numbers of every type are read from a walk") {
  using smi::Type;
  using smi::Value;
  CHECK(only(".1.3.6.1.4.1.99999.1.1.0 = INTEGER: -42\n") == Value::integer(-42));
  CHECK(only(".1.3.6.1.4.1.99999.1.7.0 = Timeticks: (12345678) 1 day, 10:17:36.78\n") ==
        Value::of_number(Type::time_ticks, 12345678));
  CHECK(only(".1.3.6.1.4.1.99999.1.9.0 = Counter32: 4294967295\n") ==
        Value::of_number(Type::counter32, 4294967295));
  CHECK(only(".1.3.6.1.4.1.99999.1.10.0 = Gauge32: 17\n") == Value::of_number(Type::gauge32, 17));
  CHECK(only(".1.3.6.1.2.1.31.1.1.1.6.1 = Counter64: 40546\n") == Value::of_number(Type::counter64, 40546));
}

TEST_CASE("an enumeration that was printed with its label is its number") {
  // snmp_set_var_value's print of an INTEGER with a MIB loaded, without -Oe (snmpcmd(1), -Oe).
  CHECK(only(".1.3.6.1.2.1.2.2.1.8.1 = INTEGER: up(1)\n") == smi::Value::integer(1));
}

TEST_CASE("octets are the same whether snmpwalk printed them as text or as hex") {
  CHECK(only(".1.3.6.1.4.1.99999.1.2.0 = STRING: \"say \\\"hi\\\" back\\\\slash\"\n").octets ==
        "say \"hi\" back\\slash");
  CHECK(only(".1.3.6.1.4.1.99999.1.12.0 = Hex-STRING: 41 42 00 \n").octets == std::string("AB\0", 3));
  CHECK(only(".1.3.6.1.4.1.99999.1.14.0 = Hex-STRING: 82 \n").octets == "\x82");
  CHECK(only(".1.3.6.1.4.1.99999.1.5.0 = \"\"\n") == smi::Value::of_octets(""));
}

TEST_CASE("hex octets run on over lines of sixteen") {
  const smi::Value value = only(
      ".1.3.6.1.4.1.99999.1.3.0 = Hex-STRING: 00 1F 20 00 01 02 03 04 05 06 07 08 09 0A 0B 0C \n"
      "0D 0E 0F 10 11 12 13 14 15 16 17 18 19 1A 1B 1C \n"
      "1D 1E 1F 20 21 22 23 24 \n");
  CHECK(smi::to_hex(value.octets) ==
        "001f2000010203040506070809"
        "0a0b0c0d0e0f101112131415161718191a1b1c1d1e1f2021222324");
}

TEST_CASE("text runs on over lines, though one of them looks like a walk's") {
  const change::AsFound found = good(
      ".1.3.6.1.4.1.99999.1.4.0 = STRING: \"line one\n"
      ".1.3.6.1 = INTEGER: 5\"\n"
      ".1.3.6.1.4.1.99999.1.11.0 = STRING: \"AB\nC= S\r\t\"\n"
      ".1.3.6.1.4.1.99999.1.20.0 = INTEGER: 7\n");
  CHECK(found.instances.size() == 3);
  CHECK(found.at(smi::Oid{1, 3, 6, 1, 4, 1, 99999, 1, 4, 0}).octets == "line one\n.1.3.6.1 = INTEGER: 5");
  CHECK(found.at(smi::Oid{1, 3, 6, 1, 4, 1, 99999, 1, 11, 0}).octets == "AB\nC= S\r\t");
  CHECK(found.at(smi::Oid{1, 3, 6, 1, 4, 1, 99999, 1, 20, 0}).number == 7);
}

TEST_CASE("addresses and object identifiers are read from a walk") {
  CHECK(only(".1.3.6.1.2.1.4.20.1.1.127.0.0.1 = IpAddress: 127.0.0.1\n").octets ==
        std::string("\x7f\0\0\1", 4));
  CHECK(only(".1.3.6.1.4.1.99999.1.6.0 = OID: .1.3.6.1.4.1.1206.4.2.18\n").oid ==
        smi::Oid{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18});
  // net-snmp 5.9.3 mib.c, sprint_realloc_networkaddress: octets in hex with colons.
  const smi::Value network = only(".1.3.6.1.2.1.3.1.1.3.1 = Network Address: 7F:00:00:01\n");
  CHECK(network.type == smi::Type::ip_address);
  CHECK(network.octets == std::string("\x7f\0\0\1", 4));
}

TEST_CASE("bits are read without the labels behind them") {
  // net-snmp 5.9.3 mib.c, sprint_realloc_bitstring.
  CHECK(only(".1.3.6.1.4.1.99999.1.30.0 = BITS: A0 00 first(0) third(2) \n").octets ==
        std::string("\xa0\0", 2));
}

TEST_CASE("what a unit does not have is told from what was not walked") {
  const change::AsFound found = good(
      ".1.3.6.1.2.1.1.77.0 = No Such Object available on this agent at this OID\n"
      ".1.3.6.1.2.1.1.1.5 = No Such Instance currently exists at this OID\n");
  CHECK(found.at(smi::Oid{1, 3, 6, 1, 2, 1, 1, 77, 0}).type == smi::Type::no_such_object);
  CHECK(found.at(smi::Oid{1, 3, 6, 1, 2, 1, 1, 1, 5}).type == smi::Type::no_such_instance);
}

TEST_CASE("the end of a walk does not undo its last value") {
  const change::AsFound found = good(
      ".1.3.6.1.6.3.16.1.5.2.1.6.6.95.110.111.110.101.95.1.2 = INTEGER: 1\n"
      ".1.3.6.1.6.3.16.1.5.2.1.6.6.95.110.111.110.101.95.1.2 = No more variables left in this MIB View (It "
      "is past the end of the MIB tree)\n");
  REQUIRE(found.instances.size() == 1);
  CHECK(found.instances.begin()->second == smi::Value::integer(1));
}

TEST_CASE("a walk that holds snmpEngineID tells the engine id") {
  const change::AsFound found =
      good(".1.3.6.1.6.3.10.2.1.1.0 = Hex-STRING: 80 00 1F 88 80 04 A7 A2 4D 4C 9F 06 6B 00 00 00 \n00 \n");
  CHECK(smi::to_hex(found.engine_id) == "80001f888004a7a24d4c9f066b00000000");
}

TEST_CASE("lines that end in CR LF are read") {
  CHECK(only(".1.3.6.1.4.1.99999.1.1.0 = INTEGER: 3\r\n") == smi::Value::integer(3));
  CHECK(only(".1.3.6.1.4.1.99999.1.14.0 = Hex-STRING: 82 \r\n").octets == "\x82");
}

TEST_CASE("each bad line of a walk is told by its line, and the others are taken") {
  const std::string text =
      ".1.3.6.1.4.1.99999.1.1.0 = INTEGER: 1\n"
      "Timeout: No Response from 127.0.0.1\n"
      "iso.3.6.1.2.1.1.3.0 = Timeticks: (212) 0:00:02.12\n"
      ".1.3.6.1.4.1.99999.1.2.0 = -42\n"
      ".1.3.6.1.4.1.99999.1.4.0 = Opaque: Float: 1.0\n"
      ".1.3.6.1.4.1.99999.1.5.0 = INTEGER: 2\n";
  const std::vector<Fault> faults = faults_of(text);
  REQUIRE(faults.size() == 4);
  CHECK(faults[0].place == Place{"unit.walk", 2, 1});
  CHECK(faults[1].place == Place{"unit.walk", 3, 1});
  CHECK(faults[2].place == Place{"unit.walk", 4, 1});
  CHECK(faults[3].place == Place{"unit.walk", 5, 1});
  CHECK_THAT(faults[1].text, Catch::Contains("snmpwalk -On"));
  Faults again;
  CHECK(change::read_walk(text, "unit.walk", again).instances.size() == 2);
}

TEST_CASE("text that was never closed is a fault and ends the walk") {
  CHECK(
      faults_of(".1.3.6.1.4.1.99999.1.2.0 = STRING: \"abc\n.1.3.6.1.4.1.99999.1.3.0 = INTEGER: 1\n").size() ==
      1);
}
