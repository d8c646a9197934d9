#include <fmt/format.h>

#include <sstream>

#include "catch.h"
#include "rough/child.h"
#include "sim/served_fleet.h"
#include "support/fleet_folder.h"
#include "support/held_still.h"

/// The built program against a unit that puts into all of its text what terminals, browsers, logs and file
/// systems obey: every command, in a pipe and on a terminal, with what it shows and every octet that it
/// wrote.
namespace {

using rough::Child;
using namespace vergeset::tests;

constexpr const char* fleet =
    "fleet: Larkmoor test bench\ntimeout: 500 ms\nretries: 1\nmode-wait: 1 s\n"
    "credentials:\n"
    "  larkmoor: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: SERVED_PRIV}}\n"
    "  own: {user: vergeset, keys: store}\ncredential: larkmoor\n"
    "key-store: {file: keys/larkmoor.keys}\n"
    "settings: {unit-id: \"{unit}\", notify-address: 192.0.2.10, notify-port: 10162}\n"
    "tables:\n  store-and-repeat:\n    others: remove\n    rows:\n"
    "      map: {match: [psid], psid: 0x82, message: MAP, channel: 172, interval: 1000 ms, start: "
    "2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: 0012020000, enabled: yes}\n";

class Bench {
 public:
  Bench() {
    ::setenv("SERVED_AUTH", "of oak and ash", 1);
    ::setenv("SERVED_PRIV", "of elm and yew", 1);
    ::setenv("VERGESET_LOCKS", path("locks").c_str(), 1);
    folder_.write("fleet.yaml", fleet);
    folder_.write("units.yaml",
                  fmt::format("units:\n  LK-301: {{address: 127.114.0.1, port: {}, model: ntcip1218-v01}}\n",
                              served::port()));
    agent_ = std::make_unique<Child>(
        std::vector<std::string>{BINARY_DIR "/tests/rough/bad_agent", "--fleet", folder_.path(), "--schemas",
                                 SOURCE_DIR "/schemas", "--unit", "LK-301", "--manners", "hostile", "--ready",
                                 path("ready")},
        path("agent.log"));
    const bool ready = rough::wait_until([&] { return std::filesystem::exists(path("ready")); });
    INFO(agent_->text());
    REQUIRE(ready);
  }
  ~Bench() { ::unsetenv("VERGESET_LOCKS"); }
  Bench(const Bench&) = delete;
  Bench& operator=(const Bench&) = delete;

  std::string path(const std::string& name) const { return folder_.path() + "/" + name; }
  std::vector<std::string> words(const std::string& command) const {
    std::vector<std::string> words{PROGRAM};
    std::istringstream given(command);
    for (std::string word; given >> word;) words.push_back(word);
    words.insert(words.end(), {"--fleet", folder_.path()});
    return words;
  }
  std::string in_a_pipe(const std::string& command) const {
    return Child(words(command), path("vergeset.log")).wait().text;
  }

 private:
  vergeset::test::FleetFolder folder_{std::map<std::string, std::string>()};
  std::unique_ptr<Child> agent_;
};

}  // namespace

TEST_CASE(
    "whatever a unit sends, no output and no file of any command holds more than text, and no mode is wide",
    "[long]") {
  const Bench bench;
  const std::vector<std::string> commands = {"reach",
                                             "audit --quiet",
                                             "audit --quiet --full",
                                             "survey --quiet",
                                             "survey --quiet --whole",
                                             "diff --quiet",
                                             "diff --survey",
                                             "apply --quiet --dry-run --full",
                                             "apply --quiet --write " + bench.path("order.yaml"),
                                             "approve " + bench.path("order.yaml"),
                                             "apply --quiet --yes",
                                             "recover",
                                             "rollback 1 --quiet --yes",
                                             "rekey --quiet --to own --dry-run",
                                             "rekey --quiet --to own --yes",
                                             "log LK-301",
                                             "log LK-301 --full",
                                             "changes",
                                             "changes show 1",
                                             "units",
                                             "gather " + bench.path("records")};
  std::string all;
  for (const std::string& command : commands) {
    for (const char* form : {"", " --json"}) {
      const std::string whole = command + form;
      if (command.find("--write") != std::string::npos) std::filesystem::remove(bench.path("order.yaml"));
      INFO(whole);
      const std::string piped = bench.in_a_pipe(whole);
      all += piped;
      INFO(piped.substr(0, 2000));
      CHECK(piped.find("internal error") == std::string::npos);
      CHECK(moves(piped) == "");
      CHECK(wrong_in(bench.path("records")) == "");
      // A page of one letter is no word: overlong text is cut where a person reads it.
      const bool cut = *form != '\0' || whole.find("--full") != std::string::npos;
      if (!cut) CHECK(piped.find(std::string(400, 'A')) == std::string::npos);
      if (command.find("--write") != std::string::npos) std::filesystem::remove(bench.path("order.yaml"));
      CHECK(moves(on_terminal(bench.words(whole)), true) == "");
      CHECK(wrong_in(bench.path("records")) == "");
    }
  }
  // It was all there: what the unit says stands in the output as text.
  for (const char* text :
       {"\\x1b]0;owned\\x07", "<script>alert(1)</script>", "\\xe2\\x80\\xaetxt.exe", "\\xff\\xfe"})
    CHECK(all.find(text) != std::string::npos);
  CHECK_FALSE(std::filesystem::exists("/tmp/vergeset-escaped"));
}
