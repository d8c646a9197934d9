#include <sys/resource.h>

#include <cstdio>

#include "snmp/address.h"
#include "snmp/all.h"
#include "snmp/conversation.h"
#include "snmp/library.h"

using namespace vergeset;
using namespace vergeset::tests;
using snmp::Answer;
using snmp::Failure;
using snmp::UdpNetwork;

namespace {

/// What an independent manager reads: net-snmp's own snmpget.
std::string snmpget(const Snmpd& agent, const smi::Oid& oid) {
  const TemporaryFolder state;
  const std::string command =
      "env -i MIBS= SNMPCONFPATH=/nowhere SNMP_PERSISTENT_DIR=" + state.path().string() +
      " /usr/bin/snmpget -v3 -l authPriv -u reader -a SHA-256 -A auth-of-reader -x AES "
      "-X priv-of-reader -Oqv -OU " +
      agent.host() + ":" + std::to_string(agent.port()) + " " + oid.str() + " 2>/dev/null";
  FILE* pipe = popen(command.c_str(), "r");
  REQUIRE(pipe != nullptr);
  std::string output(4096, '\0');
  output.resize(fread(output.data(), 1, output.size(), pipe));
  pclose(pipe);
  return output;
}

void needs(const Answer& answer) {
  INFO((answer ? std::string() : answer.error().text));
  REQUIRE(answer);
}

}  // namespace

TEST_CASE("requests of every kind are answered by net-snmp's agent") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const auto link = opened(network, at(agent.port()), principal_of("keeper"));

  SECTION("get yields values and absences in the order asked") {
    const Answer answer = finish(network, link->get({sys_up_time, sys_descr, {1, 3, 6, 1, 4, 1, 1206, 9}}));
    needs(answer);
    CHECK(answer.varbinds()[0].value.type == smi::Type::time_ticks);
    CHECK(answer.varbinds()[1].value.octets.starts_with("Linux"));
    CHECK(answer.varbinds()[2].oid == smi::Oid{1, 3, 6, 1, 4, 1, 1206, 9});
    CHECK(answer.varbinds()[2].value.absent());
  }
  SECTION("get of nothing asks nothing") {
    const auto before = link->traffic().requests;
    CHECK(outcome(finish(network, link->get({}))) == "answered");
    CHECK(link->traffic().requests == before);
  }
  SECTION("get_next yields what follows") {
    const Answer answer = finish(network, link->get_next({{1, 3, 6, 1, 2, 1, 1}, sys_contact}));
    needs(answer);
    CHECK(answer.varbinds()[0].oid == sys_descr);
    CHECK(answer.varbinds()[1].oid == sys_name);
  }
  SECTION("get_bulk yields repetitions") {
    const Answer answer = finish(network, link->get_bulk({{1, 3, 6, 1, 2, 1, 1}}, 4));
    needs(answer);
    REQUIRE(answer.varbinds().size() == 4);
    CHECK(answer.varbinds()[0].oid == sys_descr);
    CHECK(answer.varbinds()[1].value.type == smi::Type::object_id);
    CHECK(answer.varbinds()[1].value.oid->within({1, 3, 6, 1, 4, 1, 8072}));
    CHECK(answer.varbinds()[3].oid == sys_contact);
  }
  SECTION("set is read back by an independent manager") {
    auto varbinds = text(sys_contact, "Larkmoor depot");
    varbinds.push_back({sys_location, smi::Value::of_octets("Mill Lane at Weir Road")});
    const Answer answer = finish(network, link->set(varbinds));
    needs(answer);
    CHECK(answer.varbinds() == varbinds);
    CHECK(snmpget(agent, sys_contact) == "\"Larkmoor depot\"\n");
    CHECK(snmpget(agent, sys_location) == "\"Mill Lane at Weir Road\"\n");
    CHECK(octets_of(finish(network, link->get({sys_location}))) == "Mill Lane at Weir Road");
  }
  SECTION("the first authenticated request needs no extra round trip") {
    needs(finish(network, link->get({sys_descr})));
    CHECK(link->traffic().requests == 2);  // discovery and the request
    CHECK(link->traffic().sets == 0);
    CHECK(link->engine().id.size() >= 5);
    CHECK(link->engine().boots >= 1);
  }
}

TEST_CASE("every value that SNMP carries goes out and comes back as it was") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const auto link = opened(network, at(agent.port()), principal_of("keeper"));
  const smi::Oid entry{1, 3, 6, 1, 6, 3, 12, 1, 2, 1};  // snmpTargetAddrEntry (RFC 3413)
  const auto cell = [&](std::uint32_t column) { return entry.child(column).join(smi::Oid{2, 'l', 'k'}); };
  const std::string all_octets("\xff\x00\x7f\x80\x0a\x01", 6);
  const std::vector<snmp::VarBind> row = {
      {cell(2), smi::Value::of_oid({1, 3, 6, 1, 6, 1, 1})},
      {cell(3), smi::Value::of_octets(all_octets)},
      {cell(4), smi::Value::integer(2147483647)},
      {cell(9), smi::Value::integer(5)},
  };
  needs(finish(network, link->set(row)));
  const Answer answer = finish(network, link->get({cell(2), cell(3), cell(4)}));
  needs(answer);
  for (std::size_t i = 0; i < 3; ++i) CHECK(answer.varbinds()[i] == row[i]);
  needs(finish(network, link->set(text(sys_contact, ""))));
  CHECK(octets_of(finish(network, link->get({sys_contact}))).empty());
}

TEST_CASE("a request larger than an Ethernet frame is carried") {
  // 2302 octets is the largest payload of both RSU standards.
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const auto link = opened(network, at(agent.port()), principal_of("keeper"));
  std::vector<smi::Oid> many(150, sys_descr);
  const Answer answer = finish(network, link->get(many));
  needs(answer);
  CHECK(answer.varbinds().size() == 150);
}

TEST_CASE("a host is found by name, and an unknown name says so") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const auto by_name = opened(network, at(agent.port(), 1000, 1, "localhost"), principal_of("reader"));
  needs(finish(network, by_name->get({sys_descr})));
  const auto none =
      finish(network, network.open(at(161, 100, 0, "no-such-unit.invalid"), principal_of("reader")));
  REQUIRE_FALSE(none);
  CHECK(none.error.failure == Failure::local);
  CHECK(none.error.text.find("no-such-unit.invalid") != std::string::npos);
}

TEST_CASE("an address is taken as it is written, IPv6 with or without brackets") {
  CHECK(snmp::resolve("127.0.104.1", 161)->text == "127.0.104.1:161");
  CHECK(snmp::resolve("2001:db8::7", 161)->text == "[2001:db8::7]:161");
  CHECK(snmp::resolve("[2001:DB8:0::7]", 10161)->text == "[2001:db8::7]:10161");
  CHECK(snmp::resolve("[2001:db8::7]", 161)->socket.ss_family == AF_INET6);
}

TEST_CASE("an agent is reached over IPv6") {
  const int probe = socket(AF_INET6, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  sockaddr_in6 loopback{};
  loopback.sin6_family = AF_INET6;
  loopback.sin6_addr = in6addr_loopback;
  const bool here = bind(probe, reinterpret_cast<const sockaddr*>(&loopback), sizeof loopback) == 0;
  close(probe);
  if (!here) {
    WARN("this system has no IPv6 loopback: not checked");
    return;
  }
  const std::uint16_t port = free_port("127.0.0.1");
  const Snmpd agent(users + "agentaddress udp6:[::1]:" + std::to_string(port) + "\n");
  UdpNetwork network;
  const auto link = opened(network, at(port, 1000, 1, "::1"), principal_of("reader"));
  needs(finish(network, link->get({sys_descr})));
}

TEST_CASE("several requests of one link are in flight together") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const auto link = opened(network, at(agent.port()), principal_of("keeper"));
  const auto body = [&]() -> snmp::Task<std::size_t> {
    std::vector<snmp::Task<Answer>> requests;
    for (int i = 0; i < 20; ++i) requests.push_back(link->get({i % 2 == 0 ? sys_descr : sys_name}));
    const auto answers = co_await snmp::all(std::move(requests));
    std::size_t right = 0;
    for (std::size_t i = 0; i < answers.size(); ++i) {
      right += answers[i] && answers[i].varbinds()[0].oid == (i % 2 == 0 ? sys_descr : sys_name);
    }
    co_return right;
  };
  CHECK(finish(network, body()) == 20);
}

TEST_CASE("a hundred links to one agent work at once and leave the library's tables empty") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const PrincipalPtr keeper = principal_of("keeper");
  const std::vector<smi::Oid> wanted = {sys_descr, sys_name};
  int answered = 0;
  std::string engine;
  const auto unit = [&]() -> snmp::Task<void> {
    auto result = co_await network.open(at(agent.port(), 2000, 3), keeper);
    if (!result) co_return;
    engine = result.link->engine().id;
    for (int i = 0; i < 5; ++i) {
      const Answer answer = co_await result.link->get(wanted);
      if (!answer) co_return;
    }
    ++answered;
  };
  std::vector<snmp::Task<void>> tasks;
  for (int i = 0; i < 100; ++i) tasks.push_back(unit());
  network.run(std::move(tasks), 100);
  CHECK(answered == 100);
  CHECK(usm_get_userList() == nullptr);
  CHECK(search_enginetime_list(reinterpret_cast<const u_char*>(engine.data()),
                               static_cast<u_int>(engine.size())) == nullptr);
}

TEST_CASE("the soft limit of descriptors does not bound the number of links") {
  rlimit before{};
  REQUIRE(getrlimit(RLIMIT_NOFILE, &before) == 0);
  const rlimit low{32, before.rlim_max};
  REQUIRE(setrlimit(RLIMIT_NOFILE, &low) == 0);
  UdpNetwork network;
  std::vector<std::unique_ptr<snmp::Link>> links;
  for (int i = 0; i < 64; ++i)
    links.push_back(opened(network, at(common_agent().port()), principal_of("reader")));
  needs(finish(network, links.back()->get({sys_descr})));
  setrlimit(RLIMIT_NOFILE, &before);
}
