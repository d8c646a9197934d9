#include <fstream>
#include <iterator>

#include "catch.h"
#include "sim/served_fleet.h"
#include "support/snmpd.h"

/// Who gets in, and who a unit is: the built program against net-snmp's snmpd.
namespace {

using served::Ran;
using vergeset::test::FleetFolder;
using vergeset::tests::Snmpd;

constexpr const char* users =
    "createUser vergeset SHA-256 \"of oak and ash\" AES \"of elm and yew\"\nrwuser vergeset priv\n"
    "createUser factory SHA-256 \"from the factory\" AES \"from the factory\"\nrwuser factory priv\n"
    "rocommunity public\n";

class Desk {
 public:
  Desk()
      : agent_(users),
        folder_({{"fleet.yaml", fleet("")},
                 {"models/agent.yaml",
                  "model: plain-agent\ntitle: plain SNMP agent\nroot: 1.3.6.1.4.1.8072\n"
                  "recognise: {object: sysObjectID}\nscalars: {}\n"},
                 {"models/common.yaml",
                  "settings:\n  system-contact: {on: {plain-agent: sysContact}}\n"
                  "  system-location: {on: {plain-agent: sysLocation}}\n"},
                 {"units.yaml", "units:\n  LK-9: {address: 127.0.0.1, port: " +
                                    std::to_string(agent_.port()) + ", model: plain-agent}\n"}}) {
    ::setenv("SERVED_AUTH", "of oak and ash", 1);
    ::setenv("SERVED_PRIV", "of elm and yew", 1);
    ::setenv("FACTORY", "from the factory", 1);
    ::setenv("SNMPCONFPATH", "/dev/null", 1);
    ::setenv("SNMP_PERSISTENT_DIR", "/dev/null", 1);
    ::setenv("MIBS", "", 1);
    ::setenv("VERGESET_LOCKS", path("locks").c_str(), 1);
  }
  ~Desk() { ::unsetenv("VERGESET_LOCKS"); }
  Desk(const Desk&) = delete;
  Desk& operator=(const Desk&) = delete;

  static std::string fleet(const std::string& more) {
    return "fleet: Larkmoor desk\ntimeout: 500 ms\nretries: 2\ncredentials:\n"
           "  desk: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: SERVED_PRIV}}\n"
           "  factory: {user: factory, auth-secret: {env: FACTORY}, privacy-secret: {env: FACTORY}}\n"
           "  factory-2: {user: admin, auth-secret: {env: FACTORY}, privacy-secret: {env: FACTORY}}\n"
           "credential: desk\nfactory-credentials: [factory, factory-2]\n" +
           more + "settings: {system-contact: Larkmoor signals desk}\n";
  }
  Ran vergeset(const std::string& words) const {
    return served::run(std::string("NO_COLOR=1 ") + PROGRAM + " " + words + " --fleet '" + folder_.path() +
                       "'");
  }
  std::string path(const std::string& name) const { return folder_.path() + "/" + name; }
  std::string text(const std::string& name) const {
    std::ifstream file(path(name), std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  void write(const std::string& name, const std::string& text) const {
    std::ofstream(path(name), std::ios::binary) << text;
  }
  /// An order that another login wrote, sealed as that login would have.
  void as_written_by_another(const std::string& order) const {
    const Ran ran = served::run("sed -i -e 's/^who: .*/who: alex@elsewhere/' -e '$d' '" + path(order) +
                                "' && digest=$(sha256sum < '" + path(order) +
                                "' | cut -d' ' -f1) && echo \"# digest: $digest\" >> '" + path(order) + "'");
    INFO(ran.text);
    REQUIRE(ran.status == 0);
  }
  bool is_set() const {
    return served::run("snmpget -v2c -c public -Oqvn 127.0.0.1:" + std::to_string(agent_.port()) +
                       " 1.3.6.1.2.1.1.4.0")
               .text.find("Larkmoor signals desk") != std::string::npos;
  }

 private:
  Snmpd agent_;
  FleetFolder folder_;
};

}  // namespace

TEST_CASE(
    "an audit tells which factory credentials and communities open an agent, and tries them once a night") {
  const Desk desk;
  const Ran first = desk.vergeset("audit");
  INFO(first.text);
  CHECK(first.status == 5);
  CHECK_THAT(first.text, Catch::Contains("credential factory opens it"));
  CHECK_THAT(first.text, Catch::Contains("community public opens it"));
  CHECK_THAT(first.text, !Catch::Contains("factory-2 opens") && !Catch::Contains("private opens"));
  CHECK_THAT(first.text, Catch::Contains("factory credentials open 1 of 1 unit"));
  const std::string tries = desk.text("records/units/LK-9.factory.jsonl");
  CHECK_THAT(tries, Catch::Contains("\"credential factory-2\",\"result\":\"refused\""));
  CHECK_THAT(tries, Catch::Contains("\"community private\",\"result\":\"refused\""));

  const Ran second = desk.vergeset("audit --json");
  INFO(second.text);
  CHECK(second.status == 5);
  CHECK_THAT(second.text,
             Catch::Contains("\"name\": \"credential factory\"") && Catch::Contains("\"result\": \"opens\""));
  CHECK(desk.text("records/units/LK-9.factory.jsonl") == tries);

  const Ran gathered = desk.vergeset("audit LK-9 --part 1/1");
  CHECK(gathered.status == 5);
  const Ran all = desk.vergeset("gather '" + desk.path("records") + "'");
  INFO(all.text);
  CHECK(all.status == 5);
  CHECK_THAT(all.text, Catch::Contains("credential factory opens it"));
}

TEST_CASE("a fleet may name other communities, or none") {
  const Desk desk;
  desk.write("fleet.yaml", Desk::fleet("factory-communities: []\n"));
  const Ran ran = desk.vergeset("audit");
  INFO(ran.text);
  CHECK_THAT(ran.text, !Catch::Contains("community"));
  CHECK(ran.status == 5);
}

TEST_CASE(
    "an agent with another engine than at first contact is the wrong unit to every command until it is "
    "accepted") {
  const Desk desk;
  desk.write("fleet.yaml", Desk::fleet("factory-communities: []\n"));
  CHECK(desk.vergeset("survey").status == 0);
  CHECK(desk.vergeset("apply --yes --quiet").status == 0);
  const std::string known = desk.text("records/known-units.jsonl");
  CHECK_THAT(known, Catch::Contains("\"how\":\"first contact\""));

  // As if another agent had been met there at first.
  const auto engine = known.find("\"engine\":\"") + 10;
  std::string other = known;
  other.replace(engine, 12, "8000000001aa");
  desk.write("records/known-units.jsonl", other);
  std::filesystem::remove(desk.path("records/engines.jsonl"));
  const auto told = [&](const std::string& words, int status) {
    const Ran ran = desk.vergeset(words);
    INFO(words << "\n" << ran.text);
    CHECK(ran.status == status);
    CHECK_THAT(ran.text, Catch::Contains("wrong unit") || Catch::Contains("engine id"));
  };
  told("audit --quiet", 3);
  told("survey --quiet", 3);
  told("diff --quiet", 3);
  told("diff --survey", 3);
  told("apply --yes --quiet", 5);
  told("rollback 1 --yes --quiet", 5);

  for (const char* words : {"audit", "survey", "diff", "apply", "rollback 1"}) {
    for (const char* which : {"", " --group signals", " 'LK-*'"}) {
      const Ran whole = desk.vergeset(std::string(words) + which + " --accept-replacement");
      INFO(words << which << "\n" << whole.text);
      CHECK(whole.status == 2);
      CHECK_THAT(whole.text, Catch::Contains("by their names"));
    }
  }
  CHECK(desk.text("records/known-units.jsonl") == other);

  CHECK(desk.vergeset("survey LK-9 --accept-replacement --quiet").status == 0);
  CHECK_THAT(desk.text("records/known-units.jsonl"), Catch::Contains("\"how\":\"accepted replacement\""));
  CHECK_THAT(desk.text("records/units/LK-9.log"), Catch::Contains("accepted by"));
  CHECK(desk.vergeset("diff --quiet").status == 0);
}

TEST_CASE("an order is carried out as another person approved it, and not once it was altered") {
  const Desk desk;
  desk.write("fleet.yaml", Desk::fleet("factory-communities: []\nrequire-second-person: yes\n"));
  const Ran alone = desk.vergeset("apply --yes --quiet");
  CHECK(alone.status == 2);
  CHECK_THAT(alone.text, Catch::Contains("requires a second person"));
  const std::string order = "'" + desk.path("order.yaml") + "'";
  const Ran written = desk.vergeset("apply --quiet --write " + order);
  INFO(written.text);
  REQUIRE(written.status == 0);

  const Ran own = desk.vergeset("approve " + order);
  INFO(own.text);
  CHECK(own.status == 2);
  CHECK_THAT(own.text, Catch::Contains("wrote the order"));

  desk.as_written_by_another("order.yaml");
  const Ran early = desk.vergeset("apply --yes --quiet --order " + order);
  CHECK(early.status == 2);
  CHECK_THAT(early.text, Catch::Contains("not approved"));
  CHECK_FALSE(desk.is_set());

  const Ran approved = desk.vergeset("approve " + order);
  INFO(approved.text);
  CHECK(approved.status == 0);
  CHECK(desk.vergeset("approve " + order).status == 2);

  // Altered, and sealed anew by who knows how: the approval is of what it was.
  const std::string was = desk.text("order.yaml");
  const std::string approval = desk.text("order.approval.yaml");
  served::run("sed -i 's/Larkmoor signals desk/Larkmoor pub desk/' " + order);
  const Ran edited = desk.vergeset("apply --yes --quiet --order " + order);
  CHECK(edited.status == 2);
  CHECK_THAT(edited.text, Catch::Contains("digest does not fit"));
  desk.as_written_by_another("order.yaml");
  const Ran resealed = desk.vergeset("apply --yes --quiet --order " + order);
  CHECK(resealed.status == 2);
  CHECK_THAT(resealed.text, Catch::Contains("altered"));
  CHECK_FALSE(desk.is_set());

  desk.write("order.yaml", was);
  const Ran done = desk.vergeset("apply --yes --quiet --order " + order + " --require-second-person");
  INFO(done.text);
  CHECK(done.status == 0);
  CHECK(desk.is_set());
  CHECK_THAT(desk.vergeset("changes show 1").text, Catch::Contains("approved"));
}
