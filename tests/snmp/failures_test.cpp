#include <thread>

#include "snmp/conversation.h"

using namespace vergeset;
using namespace vergeset::tests;
using snmp::Answer;
using snmp::Failure;
using snmp::UdpNetwork;

namespace {

snmp::Error failed(const Answer& answer) {
  REQUIRE_FALSE(answer);
  INFO(answer.error().text);
  CHECK_FALSE(answer.error().text.empty());
  return answer.error();
}

}  // namespace

TEST_CASE("what keeps a user out is told by its cause") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const auto get_as = [&](const PrincipalPtr& principal) {
    const auto link = opened(network, at(agent.port(), 300, 0), principal);
    return failed(finish(network, link->get({sys_descr})));
  };
  SECTION("a user that the agent does not have") {
    CHECK(get_as(principal_of("nobody-here")).failure == Failure::unknown_user);
  }
  SECTION("a wrong authentication secret") {
    const auto error = get_as(principal_of("keeper", "SHA-256", "AES-128", "wrong-secret", "priv-of-keeper"));
    CHECK(error.failure == Failure::wrong_auth);
    CHECK(error.text.find("wrong-secret") == std::string::npos);
  }
  SECTION("a wrong authentication protocol") {
    CHECK(get_as(principal_of("keeper", "SHA-512")).failure == Failure::wrong_auth);
  }
  SECTION("a wrong privacy secret") {
    const auto error = get_as(principal_of("keeper", "SHA-256", "AES-128", "auth-of-keeper", "wrong-secret"));
    CHECK(error.failure == Failure::wrong_privacy);
    CHECK(error.text.find("wrong-secret") == std::string::npos);
  }
  SECTION("a user without privacy there") {
    CHECK(get_as(principal_of("plain")).failure == Failure::bad_level);
  }
  SECTION("a user who may see nothing") {
    const auto error = get_as(principal_of("stranger"));
    CHECK(error.failure == Failure::no_access);
    CHECK(error.status == 16);  // authorizationError (RFC 3416 section 3)
  }
}

TEST_CASE("two links to one engine with different secrets do not disturb each other") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const auto good = opened(network, at(agent.port(), 500, 0), principal_of("keeper"));
  const auto bad =
      opened(network, at(agent.port(), 500, 0), principal_of("keeper", "SHA-256", "AES-128", "wrong-secret"));
  for (int i = 0; i < 3; ++i) {
    CHECK(outcome(finish(network, good->get({sys_descr}))) == "answered");
    CHECK(failed(finish(network, bad->get({sys_descr}))).failure == Failure::wrong_auth);
  }
}

TEST_CASE("a SET that the agent refuses tells the status and which object") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const auto keeper = opened(network, at(agent.port(), 500, 0), principal_of("keeper"));
  SECTION("an object that cannot be written") {
    auto varbinds = text(sys_contact, "Larkmoor depot");
    varbinds.push_back({sys_descr, smi::Value::of_octets("mine")});
    const auto error = failed(finish(network, keeper->set(varbinds)));
    CHECK(error.failure == Failure::error_status);
    CHECK(error.status == 17);  // notWritable (RFC 3416 section 3)
    CHECK(error.index == 2);
    CHECK(error.text.find("notWritable") != std::string::npos);
    CHECK(error.text.find(sys_descr.str()) != std::string::npos);
  }
  SECTION("a wrong type") {
    const auto error = failed(finish(network, keeper->set({{sys_contact, smi::Value::integer(1)}})));
    CHECK(error.failure == Failure::error_status);
    CHECK(error.status == 7);  // wrongType (RFC 3416 section 3)
    CHECK(error.index == 1);
  }
  SECTION("a user who may not write") {
    const auto reader = opened(network, at(agent.port(), 500, 0), principal_of("reader"));
    const auto error = failed(finish(network, reader->set(text(sys_contact, "x"))));
    CHECK(error.failure == Failure::no_access);
    CHECK(error.status == 6);  // noAccess (RFC 3416 section 3)
  }
}

TEST_CASE("a value that SNMP cannot carry is a local failure and nothing is sent") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const auto link = opened(network, at(agent.port(), 500, 0), principal_of("keeper"));
  const auto before = link->traffic().requests;
  const auto wide = failed(finish(network, link->set({{sys_contact, smi::Value::integer(3'000'000'000)}})));
  CHECK(wide.failure == Failure::local);
  CHECK(wide.index == 1);
  CHECK(failed(finish(network, link->get({sys_descr, {}}))).index == 2);
  CHECK(
      failed(finish(network, link->set({{sys_contact, smi::Value::of_number(smi::Type::no_such_object, 0)}})))
          .failure == Failure::local);
  CHECK(link->traffic().requests == before);
}

TEST_CASE("a request that no datagram can hold is too big") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const auto link = opened(network, at(agent.port(), 500, 0), principal_of("keeper"));
  auto varbinds = text(sys_contact, std::string(40'000, 'x'));
  varbinds.push_back({sys_location, smi::Value::of_octets(std::string(40'000, 'y'))});
  const auto error = failed(finish(network, link->set(varbinds)));
  CHECK(error.failure == Failure::too_big);
  CHECK(link->traffic().sets == 0);
}

TEST_CASE("a port that never answers is no answer, after all tries") {
  const UdpSocket silent("127.0.0.3");
  UdpNetwork network;
  const auto before = network.now();
  const auto result =
      finish(network, network.open(at(silent.port(), 40, 2, "127.0.0.3"), principal_of("keeper")));
  REQUIRE_FALSE(result);
  CHECK(result.error.failure == Failure::no_answer);
  // 40 ms, then half as long again each; whenever the tries in between are sent, that is the end.
  CHECK(network.now() - before >= std::chrono::milliseconds(40 + 60 + 90));
  CHECK(network.now() - before < std::chrono::milliseconds(1000));
  int datagrams = 0;
  char octet = 0;
  while (recv(silent.descriptor(), &octet, 1, MSG_DONTWAIT) >= 0) ++datagrams;
  CHECK(datagrams == 3);
}

TEST_CASE("a unit that is silent gives its place to the next long before its first try is given up") {
  const UdpSocket silent("127.0.0.3");
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  std::vector<std::size_t> ended;
  const auto one = [&](std::size_t i) -> snmp::Task<void> {
    const snmp::Endpoint where = i == 0 ? at(silent.port(), 1500, 0, "127.0.0.3") : at(agent.port(), 1500, 0);
    const snmp::Opened opened = co_await network.open(where, principal_of("keeper"));
    ended.push_back(opened ? i : i + 100);
  };
  network.run_each(2, one, 1);
  CHECK(ended == std::vector<std::size_t>{1, 100});
}

TEST_CASE("a closed port is unreachable, and at once") {
  UdpNetwork network;
  const auto before = network.now();
  const auto result =
      finish(network, network.open(at(free_port("127.0.0.3"), 3000, 3, "127.0.0.3"), principal_of("keeper")));
  REQUIRE_FALSE(result);
  CHECK(result.error.failure == Failure::unreachable);
  CHECK(network.now() - before < std::chrono::milliseconds(1000));
}

TEST_CASE("an agent that goes away during the conversation is unreachable, for a SET too") {
  Snmpd agent(users);
  UdpNetwork network;
  const auto link = opened(network, at(agent.port(), 2000, 1), principal_of("keeper"));
  agent.stop();
  CHECK(failed(finish(network, link->get({sys_descr}))).failure == Failure::unreachable);
  CHECK(failed(finish(network, link->set(text(sys_contact, "x")))).failure == Failure::unreachable);
}

TEST_CASE("what answers but does not speak SNMPv3 is a bad answer") {
  const UdpSocket babbler("127.0.0.1");
  const timeval second{1, 0};
  setsockopt(babbler.descriptor(), SOL_SOCKET, SO_RCVTIMEO, &second, sizeof second);
  std::thread thread([&babbler] {
    for (int i = 0; i < 2; ++i) {
      char question[2048];
      sockaddr_in from{};
      socklen_t size = sizeof from;
      if (recvfrom(babbler.descriptor(), question, sizeof question, 0, reinterpret_cast<sockaddr*>(&from),
                   &size) < 0) {
        return;
      }
      sendto(babbler.descriptor(), "hello", 5, 0, reinterpret_cast<sockaddr*>(&from), size);
    }
  });
  UdpNetwork network;
  const auto result = finish(network, network.open(at(babbler.port(), 60, 1), principal_of("keeper")));
  thread.join();
  REQUIRE_FALSE(result);
  CHECK(result.error.failure == Failure::bad_answer);
}

TEST_CASE("no principal is a local failure") {
  UdpNetwork network;
  const auto result = finish(network, network.open(at(161, 50, 0), nullptr));
  REQUIRE_FALSE(result);
  CHECK(result.error.failure == Failure::local);
}

TEST_CASE("every error-status of RFC 3416 has its name") {
  CHECK(snmp::status_name(0) == "noError");
  CHECK(snmp::status_name(1) == "tooBig");
  CHECK(snmp::status_name(5) == "genErr");
  CHECK(snmp::status_name(10) == "wrongValue");
  CHECK(snmp::status_name(12) == "inconsistentValue");
  CHECK(snmp::status_name(18) == "inconsistentName");
  CHECK(snmp::status_name(19) == "unknown error-status");
  CHECK(snmp::status_name(-1) == "unknown error-status");
}
