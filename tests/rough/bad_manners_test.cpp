#include <fmt/format.h>

#include "catch.h"
#include "rough/child.h"
#include "sim/served_fleet.h"
#include "support/fleet_folder.h"

/// The built program against a unit that answers too much, too little, in no order, or what nobody asked.
namespace {

using rough::Child;

constexpr const char* fleet =
    "fleet: Larkmoor test bench\ntimeout: 500 ms\nretries: 1\nmode-wait: 5 s\nfactory-communities: []\n"
    "credentials:\n"
    "  larkmoor: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: SERVED_PRIV}}\n"
    "settings: {unit-id: \"{unit}\", mode: operate, notify-address: 192.0.2.10, notify-port: 10162}\n"
    "tables:\n  store-and-repeat:\n    rows:\n"
    "      map: {match: [psid], psid: 0x82, message: MAP, channel: 172, interval: 1000 ms, start: "
    "2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: 0012020000, enabled: yes}\n";

/// No run may take longer, or more memory. A usual audit of one unit peaks at some 20 MB.
constexpr double most_seconds = 20;
constexpr long most_kb = 120 * 1024;

class Bench {
 public:
  explicit Bench(const std::string& manners, const std::string& object = "rsuNotifyIpAddress") {
    ::setenv("SERVED_AUTH", "of oak and ash", 1);
    ::setenv("SERVED_PRIV", "of elm and yew", 1);
    ::setenv("VERGESET_LOCKS", path("locks").c_str(), 1);
    folder_.write("fleet.yaml", fleet);
    folder_.write(
        "units.yaml",
        fmt::format("units:\n  LK-301: {{address: 127.113.0.1, port: {}, model: ntcip1218-v01, site: "
                    "{{latitude: 51.1, longitude: -1.2, elevation: 41.2}}}}\n",
                    served::port()));
    agent_ = std::make_unique<Child>(
        std::vector<std::string>{BINARY_DIR "/tests/rough/bad_agent", "--fleet", folder_.path(), "--schemas",
                                 SOURCE_DIR "/schemas", "--unit", "LK-301", "--manners", manners, "--object",
                                 object, "--ready", path("ready")},
        path("agent.log"));
    const bool ready = rough::wait_until([&] { return std::filesystem::exists(path("ready")); });
    INFO(agent_->text());
    REQUIRE(ready);
  }
  ~Bench() { ::unsetenv("VERGESET_LOCKS"); }
  Bench(const Bench&) = delete;
  Bench& operator=(const Bench&) = delete;

  /// Runs it within its bounds; checks its exit status and what it says.
  void vergeset(const std::string& command, int status, const std::vector<std::string>& says) const {
    std::vector<std::string> words{PROGRAM};
    std::istringstream given(command);
    for (std::string word; given >> word;) words.push_back(word);
    words.insert(words.end(), {"--fleet", folder_.path()});
    const Child::End end = Child(words, path("vergeset.log")).wait();
    INFO("vergeset " << command << ": " << end.seconds << " s, " << end.peak_kb << " kB\n" << end.text);
    CHECK(end.status == status);
    CHECK(end.seconds < most_seconds);
    CHECK(end.peak_kb < most_kb);
    const std::string flat = in_one_line(end.text);
    for (const std::string& part : says) CHECK_THAT(flat, Catch::Contains(part));
  }
  /// What cannot be read cannot be judged, and is not changed.
  void gives_no_answer(const std::string& why) const {
    for (const char* command : {"audit", "diff", "survey", "apply --dry-run", "apply --yes"}) {
      vergeset(command, 4, {"LK-301", "no answer", why});
    }
  }

 private:
  std::string path(const std::string& name) const { return folder_.path() + "/" + name; }
  static std::string in_one_line(const std::string& text) {
    std::string line;
    for (const char c : text) {
      const bool space = c == ' ' || c == '\n';
      if (!space || line.empty() || line.back() != ' ') line += space ? ' ' : c;
    }
    return line;
  }

  vergeset::test::FleetFolder folder_{std::map<std::string, std::string>()};
  std::unique_ptr<Child> agent_;
};

TEST_CASE("a unit that keeps its manners agrees, which is what the others are held against") {
  const Bench bench("none");
  bench.vergeset("audit", 0, {"LK-301", "agrees"});
}

TEST_CASE("a table that never ends, or has absurdly many rows, is told by its name and read no further") {
  for (const char* manners : {"endless", "absurdly-many", "flood"}) {
    const Bench bench(manners);
    bench.gives_no_answer("rsuMsgRepeatStatusTable: the unit gives more than 255 rows");
  }
}

TEST_CASE("answers that do not increase end the walk and are told with what they should have come behind") {
  // RFC 3416 4.2.2 and 4.2.3: the lexicographic successor.
  for (const char* manners : {"same-again", "backwards", "twice", "elsewhere"}) {
    const Bench bench(manners);
    bench.gives_no_answer("rsuMsgRepeatStatusTable: asked for what comes behind rsuMsgRepeat");
  }
}

TEST_CASE("a unit that gives one value of an endless table to each request is given up") {
  const Bench bench("trickle");
  bench.gives_no_answer("rsuMsgRepeatStatusTable: the unit gives more than 255 rows");
}

TEST_CASE("a unit that answers a GETBULK with nothing is told with the table") {
  const Bench bench("nothing");
  bench.gives_no_answer("rsuMsgRepeatStatusTable: the unit answers a GETBULK with nothing");
}

TEST_CASE("a unit that finds all too big is told with the object that alone did not fit") {
  const Bench bench("too-big");
  bench.gives_no_answer("tooBig");
}

TEST_CASE("more octets than a unit can hold are not kept") {
  const Bench bench("monstrous");
  bench.vergeset("survey --whole", 4,
                 {"LK-301", "rsuMsgRepeatStatusTable: the unit gives more than 8 MB of values"});
}

TEST_CASE("payloads as long as the standard allows are read, in every row") {
  // NTCIP 1218 v01: rsuMsgRepeatPayload is OCTET STRING (SIZE(0..2302)).
  const Bench bench("long-payloads");
  bench.vergeset("survey --whole", 0, {"LK-301", "1 unit: 1 read"});
  bench.vergeset("audit", 3, {"LK-301", "rows that nobody asked for"});
}

TEST_CASE("a value of another type than the model's is told by its object, and refuses a change") {
  for (const char* object : {"rsuNotifyIpAddress", "rsuNotifyPort", "rsuMsgRepeatTxChannel",
                             "rsuMsgRepeatStatus", "rsuMode", "rsuModeStatus", "rsuID"}) {
    const Bench bench("wrong-type", object);
    const std::string finding = std::string(object) +
                                (std::string(object).substr(0, 9) == "rsuMsgRep" ? ".1" : ".0") +
                                " is answered as";
    for (const char* command : {"audit", "diff"})
      bench.vergeset(command, 3, {"LK-301", "cannot be brought into line", finding});
    for (const char* command : {"apply --dry-run", "apply --yes"})
      bench.vergeset(command, 5, {"LK-301", "refused", finding});
  }
}

TEST_CASE("a value that breaks its syntax is a difference that says how") {
  {
    const Bench text("bad-value", "rsuNotifyIpAddress");
    text.vergeset("audit", 3, {"LK-301", "notify-address", "is no IPv4 or IPv6 address"});
    text.vergeset("apply --yes", 5, {"LK-301", "restored"});
  }
  const Bench number("bad-value", "rsuNotifyPort");
  number.vergeset("diff", 3, {"LK-301", "notify-port", "-7", "is below"});
}

}  // namespace
