#include <fmt/format.h>

#include "catch.h"
#include "reach/street.h"
#include "rough/child.h"

/// The first rungs, each by its real cause, in network namespaces of the test's own.
namespace {

using Catch::Contains;
using served::Ran;
using street::Bench;
using street::flat;
using street::Place;
using street::Street;
using vergeset::tests::Snmpd;

constexpr int port = 16161;

const std::string config =
    "createUser vergeset SHA-256 \"of oak and ash\" AES \"of elm and yew\"\nrwuser vergeset priv";

/// A climb from the laptop to a unit at this address.
Ran reach(const Street& street, const std::string& address, int at = port) {
  const Bench bench(Bench::unit(address, at));
  return street.laptop.run(bench.command(""));
}

void says(const Ran& ran, int status, const std::vector<std::string>& words) {
  INFO(ran.text);
  CHECK(ran.status == status);
  for (const std::string& word : words) CHECK_THAT(flat(ran.text), Contains(word));
}

/// snmpd on the pole, at its address there.
class Agent {
 public:
  explicit Agent(const Place& pole, const std::string& address = "10.77.1.4")
      : inside_(pole), agent_(config, {}, address) {}
  int port() const { return agent_.port(); }

 private:
  // It is started, asked and ended from inside; what the test runs meanwhile goes where it says itself.
  Place::Inside inside_;
  Snmpd agent_;
};

TEST_CASE("a unit on the cable is on the interface's own subnet, answers ping, and is climbed to the top") {
  const Street street;
  street.usual_addresses();
  street.allow_ping();
  const Agent agent(street.pole);
  says(reach(street, "10.77.1.4", agent.port()), 0,
       {"address holds 10.77.1.4 is on eth0's own subnet 10.77.1.0/24", "ping holds answered in",
        "SNMP port holds", "1 unit: 1 at the top"});
}

TEST_CASE("an address that cannot be a unit's ends at once, with its place in the inventory") {
  const Street street;
  street.usual_addresses();
  const auto ends = [&](const std::string& address, const std::string& words) {
    says(reach(street, address), 4,
         {"address ends here " + words, "Next: correct the unit's address in units.yaml:2:3"});
  };
  ends("224.0.0.9", "224.0.0.9 is a multicast address");
  ends("255.255.255.255", "255.255.255.255 is the broadcast address");
  ends("0.0.0.0", "0.0.0.0 stands for no address at all");
  // RFC 950 2.1 and RFC 1122 3.2.1.3: host number all zeros, or all ones.
  ends("10.77.1.0", "10.77.1.0 is the network address of the subnet 10.77.1.0/24 that eth0 is on");
  ends("10.77.1.255", "10.77.1.255 is the broadcast address of the subnet 10.77.1.0/24 that eth0 is on");
  ends("fe80::4", "fe80::4 is a link-local address, which says nothing without its interface");
  ends("unit.invalid", "cannot find the address of 'unit.invalid'");  // RFC 2606: no such name
}

TEST_CASE(
    "a laptop on another /24 is told the first three numbers, and the address it is told to take works") {
  const Street street;
  street.laptop.ip("address add 10.77.2.50/24 dev eth0");
  street.pole.ip("address add 10.77.1.4/24 dev eth0");
  const Agent agent(street.pole);
  says(reach(street, "10.77.1.4", agent.port()), 4,
       {"address ends here no way to 10.77.1.4: eth0 has 10.77.2.50, and with the mask 255.255.255.0 the "
        "first "
        "three numbers of both addresses must be equal",
        "Next: give eth0 the address 10.77.1.250, if nothing else has it, and the mask 255.255.255.0"});
  street.laptop.ip("address add 10.77.1.250/24 dev eth0");
  says(reach(street, "10.77.1.4", agent.port()), 0, {"1 unit: 1 at the top"});
}

TEST_CASE(
    "no address, an interface that is off, a cable that is out, and a route that forbids are told apart") {
  const Street street;
  says(reach(street, "10.77.1.4"), 4,
       {"no way to 10.77.1.4: this machine has no IPv4 address", "Next: plug the cable in"});
  street.usual_addresses();
  street.laptop.ip("route add unreachable 10.77.9.0/24");
  says(reach(street, "10.77.9.4"), 4, {"address ends here no way to 10.77.9.4"});
  // The far end of the cable goes.
  street.pole.ip("link set eth0 down");
  rough::wait_until(
      [&] { return street.laptop.run("ip link show eth0").text.find("NO-CARRIER") != std::string::npos; });
  says(reach(street, "10.77.1.4"), 4,
       {"address ends here 10.77.1.4 is on eth0's own subnet 10.77.1.0/24, but eth0 has no link",
        "Next: plug the cable in at both ends"});
  street.laptop.ip("link set eth0 down");
  says(reach(street, "10.77.1.4"), 4,
       {"address ends here eth0 has 10.77.1.50, on the unit's subnet, but is switched off",
        "Next: switch eth0 on, as by: ip link set eth0 up"});
}

TEST_CASE("nothing at the unit's address on the cable is told as that, after ping and port were tried") {
  const Street street;
  street.usual_addresses();
  street.allow_ping();
  const Bench bench("  LK-104: {address: 10.77.1.7, port: 16161, model: plain-agent}\n");
  // ARP gives up after three seconds (RFC 1122 2.3.2.1 wants no flood; Linux: three probes, a second apart).
  bench.write("units.yaml", "units:\n  LK-104: {address: 10.77.1.7, port: 16161, model: plain-agent}\n");
  street.laptop.sysctl("net.ipv4.neigh.eth0.retrans_time_ms", "100");
  says(street.laptop.run(bench.command("")), 4,
       {"ping passed over nothing on eth0 has the address 10.77.1.7 (no answer to ARP)",
        "SNMP port ends here UDP port 16161 is silent: nothing on eth0 has the address 10.77.1.7"});
}

TEST_CASE("a unit behind a router is reached by way of it, and the router's own word is told") {
  const Street street;
  street.usual_addresses();
  street.allow_ping();
  street.laptop.ip("route add default via 10.77.1.4");
  // The pole is a router to a unit beyond.
  const Place unit;
  street.pole.ip("link add eth1 type veth peer name eth0 netns " + unit.path());
  street.pole.ip("link set eth1 up");
  street.pole.ip("address add 10.99.3.1/24 dev eth1");
  street.pole.sysctl("net.ipv4.ip_forward", "1");
  unit.ip("link set eth0 up");
  unit.ip("address add 10.99.3.4/24 dev eth0");
  unit.ip("route add default via 10.99.3.1");
  const Agent agent(unit, "10.99.3.4");
  says(reach(street, "10.99.3.4", agent.port()), 0,
       {"address holds 10.99.3.4 is reached by way of 10.77.1.4 on eth0", "1 unit: 1 at the top"});
  street.pole.ip("route add unreachable 10.99.4.0/24");
  says(reach(street, "10.99.4.4"), 4,
       {"ping passed over 10.77.1.4 says: No route to host", "SNMP port ends here",
        "if it is on a cable at this machine, give that interface the address 10.99.4.250"});
}

TEST_CASE("a unit that answers no ping is climbed all the same, and so is one where ping is forbidden") {
  const Street street;
  street.usual_addresses();
  street.pole.sysctl("net.ipv4.icmp_echo_ignore_all", "1");
  const Agent agent(street.pole);
  // ping_group_range of a new namespace is "1 0": nobody (icmp(7)).
  says(reach(street, "10.77.1.4", agent.port()), 0,
       {"ping passed over not asked: this system lets this user send none (net.ipv4.ping_group_range)",
        "1 unit: 1 at the top"});
  street.allow_ping();
  says(reach(street, "10.77.1.4", agent.port()), 0,
       {"ping passed over no answer to 3 tries", "1 unit: 1 at the top"});
}

TEST_CASE("a port that is closed and one that is silent are told apart") {
  const Street street;
  street.usual_addresses();
  street.allow_ping();
  says(reach(street, "10.77.1.4"), 4,
       {"ping holds", "SNMP port ends here UDP port 16161 is closed", "Next: switch SNMP on at the unit"});
  const Place::Inside inside(street.pole);
  const vergeset::tests::UdpSocket deaf("10.77.1.4");
  says(reach(street, "10.77.1.4", deaf.port()), 4,
       {fmt::format("SNMP port ends here UDP port {} is silent, though the unit answers ping", deaf.port()),
        "lets in 10.77.1.50"});
}

/// snmpd at an address of IPv6, until the test ends.
class Agent6 {
 public:
  explicit Agent6(const Place& pole) {
    std::ofstream(folder_.path() / "snmpd.conf") << config << '\n';
    const std::string folder = folder_.path().string();
    ::setenv("SNMPCONFPATH", folder.c_str(), 1);
    ::setenv("SNMP_PERSISTENT_DIR", folder.c_str(), 1);
    const Place::Inside inside(pole);
    agent_ = std::make_unique<rough::Child>(
        std::vector<std::string>{"/usr/sbin/snmpd", "-f", "-Lf", "/dev/null", "-p", folder + "/pid",
                                 fmt::format("udp6:[::]:{}", port)},
        folder + "/log");
  }

 private:
  vergeset::tests::TemporaryFolder folder_;
  std::unique_ptr<rough::Child> agent_;
};

TEST_CASE(
    "over IPv6 a unit is reached on the cable's subnet, by its link-local address, and told without a way") {
  const Street street;
  street.allow_ping();
  says(reach(street, "fd77::4"), 4, {"no way to fd77::4: this machine has no IPv6 address"});
  street.laptop.ip("address add fd77::50/64 dev eth0 nodad");
  street.pole.ip("address add fd77::4/64 dev eth0 nodad");
  const Agent6 agent(street.pole);
  Ran ran;
  rough::wait_until([&] { return (ran = reach(street, "fd77::4")).status == 0; });
  says(ran, 0,
       {"address holds fd77::4 is on eth0's own subnet fd77::/64", "ping holds answered in",
        "1 unit: 1 at the top"});
  const std::string link_local =
      street.pole.run("ip -6 -o address show dev eth0 scope link | awk '{print $4}'").text;
  const std::string address = link_local.substr(0, link_local.find('/')) + "%eth0";
  // Once duplicates of it have been looked for (RFC 4862 5.4).
  rough::wait_until([&] { return (ran = reach(street, address)).status == 0; });
  says(ran, 0, {"is on eth0's own subnet fe80::/64", "ping holds", "1 unit: 1 at the top"});
  says(reach(street, "fd99::4"), 4, {"no way to fd99::4: eth0 is on fd77::/64, which does not have it"});
}

TEST_CASE("a user without any privilege climbs to the top, ping and all") {
  const Street street;
  street.usual_addresses();
  street.allow_ping();
  const Agent agent(street.pole);
  const Bench bench(Bench::unit("10.77.1.4", agent.port()));
  const vergeset::tests::TemporaryFolder records;
  const std::string as_nobody =
      "chown -R 65534:65534 '" + bench.folder() + "' '" + records.path().string() +
      "' && setpriv --reuid=65534 --regid=65534 --clear-groups --bounding-set=-all --no-new-privs "
      "sh -c 'grep CapEff /proc/self/status; id -u; exec \"$@\"' sh env NO_COLOR=1 " +
      std::string(PROGRAM) + " reach --fleet '" + bench.folder() + "' --records '" + records.path().string() +
      "'";
  says(street.laptop.run(as_nobody), 0,
       {"0000000000000000 65534", "address holds 10.77.1.4 is on eth0's own subnet", "ping holds answered",
        "1 unit: 1 at the top"});
}

}  // namespace
