#include <map>

#include "snmp/conversation.h"
#include "snmp/keys.h"

using namespace vergeset;
using namespace vergeset::snmp;
using namespace vergeset::tests;

// Every security level and protocol, reading and writing, against net-snmp's own agent.

namespace {

/// A protocol by our name and by that of snmpd.conf(5).
struct Protocol {
  const char* ours;
  const char* theirs;
};

// RFC 3414 6 and 7; RFC 7860 for SHA-2
constexpr Protocol auths[] = {{"MD5", "MD5"},         {"SHA-1", "SHA"},       {"SHA-224", "SHA-224"},
                              {"SHA-256", "SHA-256"}, {"SHA-384", "SHA-384"}, {"SHA-512", "SHA-512"}};
// RFC 3414 8; RFC 3826; AES-192 and AES-256 of draft-blumenthal-aes-usm-04
constexpr Protocol privacies[] = {
    {"DES", "DES"}, {"AES-128", "AES"}, {"AES-192", "AES-192"}, {"AES-256", "AES-256"}};

const std::string host = "127.0.7.1";

std::string all_users() {
  std::string config = "createUser plain\nrwuser plain noauth\nrwcommunity of-larkmoor 127.0.0.0/8\n";
  for (const auto& auth : auths) {
    const std::string alone = auth.ours;
    config +=
        "createUser " + alone + " " + auth.theirs + " auth-of-" + alone + "\nrwuser " + alone + " auth\n";
    for (const auto& privacy : privacies) {
      const std::string user = alone + "-" + privacy.ours;
      config += "createUser " + user + " " + auth.theirs + " auth-of-" + user + " " + privacy.theirs +
                " priv-of-" + user + "\nrwuser " + user + " priv\n";
    }
  }
  return config;
}

const Snmpd& agent_of_all() {
  static const Snmpd agent(all_users(), {}, host);
  return agent;
}

snmp::Endpoint there(const Snmpd& agent, int retries = 1) {
  return at(agent.port(), 500, retries, host);
}

PrincipalPtr made(const PrincipalOr& principal) {
  if (!principal) throw std::runtime_error(principal.problem());
  return *principal;
}

/// Writes a text that no other has written, and reads it back.
void reads_and_writes(UdpNetwork& network, const PrincipalPtr& principal) {
  static int number = 0;
  const std::string mark = "set " + std::to_string(++number);
  const auto link = opened(network, there(agent_of_all()), principal);
  const Answer written = finish(network, link->set(text(sys_contact, mark)));
  CHECK(outcome(written) == "answered");
  CHECK(octets_of(finish(network, link->get({sys_contact}))) == mark);
}

Secret localized(const char* auth, const std::string& password, const std::string& engine) {
  const auto key = password_to_key(auth, password);
  auto result = localize_key(auth, key->text(), engine);
  if (!result) throw std::runtime_error(result.problem());
  return *std::move(result);
}

std::string engine_of_all(UdpNetwork& network) {
  return opened(network, there(agent_of_all()), principal_of("MD5-DES", "MD5", "DES"))->engine().id;
}

PrincipalPtr community(const char* version, const std::string& name) {
  return made(community_principal(version, Secret::copy_of(name)));
}

}  // namespace

TEST_CASE("each authentication protocol with each privacy protocol reads and writes") {
  UdpNetwork network;
  for (const auto& auth : auths) {
    for (const auto& privacy : privacies) {
      const std::string user = std::string(auth.ours) + "-" + privacy.ours;
      INFO(user);
      reads_and_writes(network, principal_of(user, auth.ours, privacy.ours));
    }
  }
}

TEST_CASE("keys that are localized to the engine read and write as their passwords do") {
  UdpNetwork network;
  const std::string engine = engine_of_all(network);
  for (const auto& auth : auths) {
    for (const auto& privacy : privacies) {
      const std::string user = std::string(auth.ours) + "-" + privacy.ours;
      INFO(user);
      reads_and_writes(network, made(localized_principal(
                                    user, auth.ours, localized(auth.ours, "auth-of-" + user, engine),
                                    privacy.ours, localized(auth.ours, "priv-of-" + user, engine), engine)));
    }
  }
}

TEST_CASE("keys that are localized to one engine are not shown to another") {
  UdpNetwork network;
  const std::string other("\x80\x00\x1f\x88\x04other", 10);
  const auto principal =
      made(localized_principal("SHA-1-DES", "SHA-1", localized("SHA-1", "auth-of-SHA-1-DES", other), "DES",
                               localized("SHA-1", "priv-of-SHA-1-DES", other), other));
  const auto result = finish(network, network.open(there(agent_of_all()), principal));
  REQUIRE_FALSE(result);
  CHECK(result.error.text.find("are those of engine 80001f88046f74686572") != std::string::npos);
}

TEST_CASE("localized keys have the sizes that their protocols want") {
  const std::string engine("\x80\x00\x1f\x88\x04unit", 9);
  const auto problem = [&](std::size_t auth, std::size_t privacy, const std::string& id) {
    const auto principal = localized_principal("u", "SHA-256", Secret(std::string(auth, 'a')), "AES-128",
                                               Secret(std::string(privacy, 'p')), id);
    return principal ? "" : principal.problem();
  };
  CHECK(problem(32, 32, engine).empty());
  CHECK(problem(32, 16, engine).empty());  // RFC 3826 3.1.2.1: the first 128 bits
  CHECK(problem(31, 32, engine).find("authentication key has 31 octets, not 32") != std::string::npos);
  CHECK(problem(32, 15, engine).find("privacy key has 15 octets") != std::string::npos);
  CHECK(problem(32, 32, "1234").find("5 to 32") != std::string::npos);
}

TEST_CASE("each authentication protocol alone reads and writes") {
  UdpNetwork network;
  for (const auto& auth : auths) {
    INFO(auth.ours);
    reads_and_writes(network, principal_of(auth.ours, auth.ours, "none"));
  }
}

TEST_CASE("a user without authentication reads and writes where the unit lets it") {
  UdpNetwork network;
  reads_and_writes(network, made(usm_principal("plain", "none", Secret(), "none", Secret())));
}

TEST_CASE("a level below that of the user's access is no access, and one above is told") {
  UdpNetwork network;
  // RFC 3415 3.2: the level of the request must reach that of the access entry.
  const auto low =
      opened(network, there(agent_of_all()),
             made(usm_principal("SHA-256-AES-128", "SHA-256", Secret(std::string("auth-of-SHA-256-AES-128")),
                                "none", Secret())));
  CHECK(finish(network, low->get({sys_name})).error().failure == Failure::no_access);
  // RFC 3414 3.2.5: usmStatsUnsupportedSecLevels
  const auto high = opened(network, there(agent_of_all()), principal_of("SHA-256", "SHA-256", "AES-128"));
  CHECK(finish(network, high->get({sys_name})).error().failure == Failure::bad_level);
}

TEST_CASE("privacy without authentication is no principal") {
  // RFC 3411 3.4.3
  const auto principal = usm_principal("u", "none", Secret(), "AES-128", Secret(std::string("long enough")));
  REQUIRE_FALSE(principal);
  CHECK(principal.problem().find("RFC 3411") != std::string::npos);
}

TEST_CASE("a community reads and writes in SNMPv1 and SNMPv2c") {
  UdpNetwork network;
  for (const char* version : {"1", "2c"}) {
    INFO(version);
    reads_and_writes(network, community(version, "of-larkmoor"));
  }
}

TEST_CASE("a community needs no discovery, and a unit is silent to one that it does not know") {
  UdpNetwork network;
  const auto link = opened(network, there(agent_of_all(), 0), community("2c", "of-others"));
  CHECK(link->traffic().requests == 0);
  const Answer answer = finish(network, link->get({sys_name}));
  REQUIRE_FALSE(answer);
  CHECK(answer.error().failure == Failure::no_answer);
  CHECK(answer.error().text.find("a community that it does not know") != std::string::npos);
  CHECK(answer.error().text.find("of-others") == std::string::npos);
}

TEST_CASE("a closed port is told to who speaks by community too") {
  UdpNetwork network;
  const auto link =
      opened(network, at(free_port("127.0.7.2"), 2000, 1, "127.0.7.2"), community("2c", "of-larkmoor"));
  CHECK(finish(network, link->get({sys_name})).error().failure == Failure::unreachable);
}

TEST_CASE("what SNMPv1 has no words for is told as in later versions") {
  UdpNetwork network;
  const smi::Oid nothing{1, 3, 6, 1, 2, 1, 1, 99, 0};
  const smi::Oid beyond{1, 3, 6, 1, 6, 99};
  for (const char* version : {"1", "2c"}) {
    INFO(version);
    const auto link = opened(network, there(agent_of_all()), community(version, "of-larkmoor"));
    const Answer got = finish(network, link->get({sys_name, nothing, sys_location, nothing.child(1)}));
    REQUIRE(got);
    REQUIRE(got.varbinds().size() == 4);
    CHECK_FALSE(got.varbinds()[0].value.absent());
    CHECK(got.varbinds()[1].value.absent());
    CHECK(got.varbinds()[1].oid == nothing);
    CHECK_FALSE(got.varbinds()[2].value.absent());
    CHECK(got.varbinds()[3].value.absent());

    const Answer next = finish(network, link->get_next({sys_contact, beyond}));
    REQUIRE(next);
    CHECK(next.varbinds()[0].oid == sys_name);
    CHECK(next.varbinds()[1].value.type == smi::Type::end_of_mib_view);

    const Answer bulk = finish(network, link->get_bulk({sys_descr}, {sys_contact, beyond}, 3));
    REQUIRE(bulk);
    REQUIRE(bulk.varbinds().size() >= 3);
    CHECK(bulk.varbinds()[1].oid == sys_name);
    CHECK(bulk.varbinds()[2].value.absent());
  }
}

TEST_CASE("a SET that is refused says so in the words of its version") {
  UdpNetwork network;
  const auto refused = [&](const char* version) {
    const auto link = opened(network, there(agent_of_all()), community(version, "of-larkmoor"));
    return finish(network, link->set(text(sys_descr, "no"))).error();
  };
  CHECK(status_name(refused("1").status) ==
        "noSuchName");  // RFC 3584 4.4: what notWritable becomes in SNMPv1
  CHECK(refused("1").index == 1);
  CHECK(status_name(refused("2c").status) == "notWritable");  // RFC 3416 4.2.5
}

TEST_CASE("many requests by community travel side by side, and each has its own answer") {
  UdpNetwork network;
  const auto link = opened(network, there(agent_of_all()), community("2c", "of-larkmoor"));
  std::vector<snmp::Task<void>> tasks;
  int right = 0;
  const auto one = [&](smi::Oid oid) -> snmp::Task<void> {
    std::vector<smi::Oid> oids(1, oid);
    const Answer answer = co_await link->get(std::move(oids));
    if (answer && answer.varbinds().front().oid == oid) ++right;
  };
  for (int i = 0; i < 20; ++i) {
    for (const smi::Oid& oid : {sys_descr, sys_name, sys_contact}) tasks.push_back(one(oid));
  }
  network.run(std::move(tasks), 60);
  CHECK(right == 60);
}
