#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "catch.h"
#include "sim/served_fleet.h"

/// `vergeset apply --rehearse` whole: units that roadside-sim serves, and twins of them that vergeset starts.
namespace {

using nlohmann::json;
using served::Ran;
using served::ServedFleet;

std::string units_yaml() {
  const auto unit = [](const char* name, int number, const char* model) {
    return std::string("  ") + name + ": {address: 127.105.1." + std::to_string(number) +
           ", port: " + std::to_string(served::port()) + ", model: " + model + "}\n";
  };
  return "units:\n" + unit("LK-101", 1, "ntcip1218-v01") + unit("LK-201", 2, "rsu-4.1");
}

bool has(const Ran& ran, const std::string& text) {
  return ran.text.find(text) != std::string::npos;
}

std::string contents(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return std::string(std::istreambuf_iterator<char>(file), {});
}

class Bench {
 public:
  Bench() : served_(units_yaml()) {
    describe("");
    REQUIRE(served_.start());
  }

  /// Writes fleet.yaml anew, with more behind it.
  void describe(const std::string& more) const {
    std::ofstream(path("fleet.yaml"))
        << "fleet: Larkmoor test bench\nmode-wait: 5 s\ntimeout: 500 ms\nretries: 2\n"
        << "credentials:\n"
        << "  larkmoor: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: "
           "SERVED_PRIV}}\n"
        << "settings: {unit-id: \"{unit}\", mode: operate, notify-address: 192.0.2.10}\n"
        << more;
  }
  static std::string row() {
    return "tables:\n  store-and-repeat:\n    rows:\n"
           "      map: {match: [psid], psid: 0x82, message: MAP, channel: 172, interval: 1000 ms,\n"
           "            start: 2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: 0012020000, enabled: "
           "yes}\n";
  }

  std::string path(const std::string& name) const { return served_.path(name); }
  std::string command(const std::string& words, const std::string& program = PROGRAM) const {
    return "NO_COLOR=1 '" + program + "' " + words + " --fleet '" + path("") + "'";
  }
  Ran vergeset(const std::string& words, const std::string& program = PROGRAM) const {
    return served::run(command(words, program));
  }
  json document(const std::string& words) const {
    return json::parse(served::run(command(words) + " --json 2>/dev/null").text);
  }
  void tell(const std::string& words) const { REQUIRE(served_.tell(words).status == 0); }
  int sets(const std::string& unit) const {
    const std::string counters = served_.tell(unit + " counters").text;
    return std::stoi(counters.substr(counters.find("sets ") + 5));
  }
  /// Processes that serve twins of this fleet. The pattern is written so that it is not its own match.
  int simulators() const {
    return std::stoi(served::run("pgrep -fc -- '--fleet " + path("") + ".* twin[s]' || true").text);
  }
  bool simulators_end() const {
    for (int i = 0; i < 100; ++i) {
      if (simulators() == 0) return true;
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
    return false;
  }
  /// Starts a rehearsal, waits until twins are served, and sends the signal. The exit status.
  int signalled(const std::string& words, const std::string& signal) const {
    return served::run(command(words) +
                       " >/dev/null 2>&1 & pid=$!; for i in $(seq 200); do pgrep -fc -- '--fleet " +
                       path("") + ".* twin[s]' >/dev/null && break; sleep 0.02; done; kill -" + signal +
                       " $pid; wait $pid")
        .status;
  }

 private:
  ServedFleet served_;
};

/// The names in the folder for temporary files that a rehearsal could have made.
std::string scratch() {
  return served::run(
             "ls /tmp | grep -v -e '^vergeset-test-' -e '^bash_jobs' | grep -i -e vergeset -e twin || true")
      .text;
}

TEST_CASE(
    "a rehearsal that passes on twins of both standards is followed by the change, and every unit settles") {
  const Bench bench;
  const Ran ran = bench.vergeset("apply --rehearse --yes");
  INFO(ran.text);
  CHECK(ran.status == 0);
  CHECK(has(ran, "rehearsed 2 units on twins: 2 passed"));
  CHECK(has(ran, "2 settled"));
  CHECK(bench.vergeset("audit").status == 0);
  CHECK(bench.simulators() == 0);
}

TEST_CASE("a rehearsal that is a dry run sends no SET, makes no change, and leaves nothing behind") {
  const Bench bench;
  const std::string before = scratch();
  const Ran ran = bench.vergeset("apply --rehearse --dry-run");
  INFO(ran.text);
  CHECK(ran.status == 0);
  CHECK(has(ran, "2 passed"));
  CHECK(has(ran, "no SET was sent"));
  CHECK(has(ran, "could not know"));
  CHECK(bench.sets("LK-101") == 0);
  CHECK(bench.sets("LK-201") == 0);
  CHECK_FALSE(std::filesystem::exists(bench.path("records/changes")));
  CHECK(bench.simulators() == 0);
  CHECK(scratch() == before);
}

TEST_CASE(
    "the document of a rehearsal tells of each unit how it went, and a unit gets no SET beyond its "
    "change's") {
  const Bench bench;
  bench.describe(Bench::row());
  const json told = bench.document("apply --rehearse --yes");
  REQUIRE(told["rehearsal"]["units"].size() == 2);
  for (const json& unit : told["rehearsal"]["units"]) {
    CHECK(unit["passed"] == true);
    CHECK(unit["verified"] == true);
    CHECK(unit["rolled_back"] == true);
    CHECK(unit["restored"] == true);
    CHECK(unit["what"] == "");
    CHECK(unit["steps"].get<int>() > 0);
    CHECK(unit["took_ms"].get<int>() > 0);
    // A factory unit has no row: what is not known of the first is told.
    CHECK(unit["unknown"].dump().find("rows untried") != std::string::npos);
  }
  CHECK(told["rehearsal"]["never_known"].size() >= 4);
  for (std::size_t i = 0; i < 2; ++i) {
    const json& unit = told["units"][i];
    CHECK(unit["outcome"] == "settled");
    CHECK(unit["steps_done"] == told["rehearsal"]["units"][i]["steps"]);
    CHECK(bench.sets(unit["unit"]) == unit["steps_done"].get<int>());
  }
}

TEST_CASE(
    "a work order whose steps do not do on the unit of today is refused by its rehearsal, before any SET") {
  const Bench bench;
  REQUIRE(bench.vergeset("apply --yes").status == 0);
  bench.describe(Bench::row());
  const std::string order = bench.path("order.yaml");
  REQUIRE(bench.vergeset("apply LK-101 --write " + order).status == 0);
  // The order was written before it was known that this vendor's units take messages in standby only.
  bench.describe(Bench::row() + "traits: {rsuMsgRepeatStatusTable: {needs-standby: yes}}\n");
  const int before = bench.sets("LK-101");
  const Ran ran = bench.vergeset("apply --rehearse --yes --order " + order);
  INFO(ran.text);
  CHECK(ran.status == 5);
  CHECK(has(ran, "1 refused"));
  CHECK(has(ran, "inconsistentValue"));
  CHECK(bench.sets("LK-101") == before);
}

TEST_CASE("a work order is rehearsed and then carried out exactly") {
  const Bench bench;
  const std::string order = bench.path("order.yaml");
  REQUIRE(bench.vergeset("apply --rehearse --write " + order).status == 0);
  CHECK(bench.sets("LK-101") == 0);
  const Ran ran = bench.vergeset("apply --rehearse --yes --order " + order);
  INFO(ran.text);
  CHECK(ran.status == 0);
  CHECK(has(ran, "2 passed"));
  CHECK(has(ran, "2 settled"));
}

TEST_CASE("a rollback is rehearsed likewise") {
  const Bench bench;
  REQUIRE(bench.vergeset("apply --yes").status == 0);
  const Ran ran = bench.vergeset("rollback 1 --rehearse --yes");
  INFO(ran.text);
  CHECK(ran.status == 0);
  CHECK(has(ran, "2 passed"));
  CHECK(has(ran, "2 settled"));
}

TEST_CASE(
    "a unit that holds what could not be put back is refused by its rehearsal, and others are changed") {
  const Bench bench;
  bench.tell("LK-201 set rsuSysObsLogLevel 1 || true");
  bench.tell("LK-101 set rsuNotifyPort 5000");
  // From here on the fleet has a model of its own, by which the port that the unit holds is none.
  std::filesystem::create_directories(bench.path("models"));
  std::ofstream(bench.path("models/narrow.yaml"))
      << "model: narrow\ntitle: NTCIP 1218 v01, ports as we allow them\nbased-on: ntcip1218-v01\n"
      << "scalars:\n  rsuNotifyPort: {syntax: Integer32 (1..1000)}\n";
  std::string units = contents(bench.path("units.yaml"));
  units.replace(units.find("ntcip1218-v01"), std::string("ntcip1218-v01").size(), "narrow");
  std::ofstream(bench.path("units.yaml")) << units;
  bench.describe("only: {narrow: {settings: {rsuNotifyPort: 162}}}\n");
  const Ran ran = bench.vergeset("apply --rehearse --yes");
  INFO(ran.text);
  CHECK(ran.status == 5);
  CHECK(has(ran, "1 passed, 1 failed"));
  CHECK(has(ran, "rolling back"));
  CHECK(has(ran, "does not allow"));
  CHECK(has(ran, "1 settled"));
  CHECK(bench.sets("LK-101") == 0);
}

TEST_CASE("a unit that does not answer keeps no other from its rehearsal") {
  const Bench bench;
  bench.tell("LK-101 drop 1000");
  const Ran ran = bench.vergeset("apply --rehearse --yes");
  INFO(ran.text);
  CHECK(ran.status == 4);
  CHECK(has(ran, "rehearsed 1 unit on twins: 1 passed"));
  CHECK(has(ran, "1 settled"));
}

TEST_CASE("vergeset that is killed in a rehearsal leaves no twin running, nor does one that is interrupted") {
  const Bench bench;
  CHECK(bench.signalled("apply --rehearse --yes", "KILL") != 0);
  CHECK(bench.simulators_end());
  CHECK(bench.signalled("apply --rehearse --yes", "INT") == 6);
  CHECK(bench.simulators_end());
  CHECK(bench.sets("LK-101") == 0);
  CHECK(bench.sets("LK-201") == 0);
}

TEST_CASE("without roadside-sim there is no rehearsal and no change, and it is told where it should be") {
  const Bench bench;
  const std::string alone = bench.path("vergeset");
  std::filesystem::copy_file(PROGRAM, alone);
  const Ran ran = bench.vergeset("apply --rehearse --yes", alone);
  INFO(ran.text);
  CHECK(ran.status == 2);
  CHECK(has(ran, "roadside-sim"));
  CHECK(bench.sets("LK-101") == 0);
}

TEST_CASE(
    "a twin gets secrets of its own, new each time, by its standard input alone, and never the units'") {
  const Bench bench;
  const std::string program = bench.path("vergeset");
  std::filesystem::copy_file(PROGRAM, program);
  const std::string spy = bench.path("roadside-sim");
  std::ofstream(spy) << "#!/bin/sh\n"
                        "read -r first\n"
                        "{ tr '\\0' '\\n' </proc/$$/environ; echo \"$@\"; } >>'"
                     << bench.path("seen") << "'\necho \"$first\" >>'" << bench.path("told")
                     << "'\necho 'no twin today' >&2\nexit 1\n";
  std::filesystem::permissions(spy, std::filesystem::perms::owner_all);
  const Ran ran = bench.vergeset("apply --rehearse --yes LK-101", program);
  INFO(ran.text);
  CHECK(ran.status == 5);
  CHECK(has(ran, "no twin today"));
  CHECK(bench.sets("LK-101") == 0);
  CHECK(bench.vergeset("apply --rehearse --yes LK-101", program).status == 5);

  const std::string seen = contents(bench.path("seen"));
  const std::string told = contents(bench.path("told"));
  REQUIRE_FALSE(told.empty());
  std::vector<std::string> secrets;
  std::istringstream lines(told);
  for (std::string line; std::getline(lines, line);) {
    const json head = json::parse(line);
    secrets.push_back(head["auth-secret"]);
    secrets.push_back(head["privacy-secret"]);
  }
  REQUIRE(secrets.size() == 4);
  for (std::size_t i = 0; i < secrets.size(); ++i) {
    CHECK(secrets[i].size() == 32);
    CHECK(seen.find(secrets[i]) == std::string::npos);
    for (std::size_t k = 0; k < i; ++k) CHECK(secrets[i] != secrets[k]);
  }
  for (const char* real : {"of oak and ash", "of elm and yew", "SERVED_AUTH"}) {
    CHECK(seen.find(real) == std::string::npos);
    CHECK(told.find(real) == std::string::npos);
  }
  CHECK(has(Ran{0, seen}, " twins"));
}

}  // namespace
