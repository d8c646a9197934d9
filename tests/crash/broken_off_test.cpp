#include <chrono>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <sstream>
#include <thread>

#include "catch.h"
#include "kill.h"

/// What a person sees of a change that was broken off: by Ctrl-C, a full disk, a kill.
namespace {

using namespace std::chrono_literals;
using crash::Child;
using crash::EightUnits;
using crash::Ended;
using crash::Sides;

const std::vector<std::string> apply{"apply", "--yes", "--quiet"};
constexpr int lane = 5;

/// Whether it has said so, on however many lines.
bool has(const Ended& ran, const std::string& text) {
  std::string line;
  for (const char c : ran.text) {
    const bool blank = c == ' ' || c == '\n';
    if (!blank) line += c;
    if (blank && !line.empty() && line.back() != ' ') line += ' ';
  }
  return line.find(text) != std::string::npos;
}

/// Waits until this unit has got so many SETs.
void await_sets(const EightUnits& units, const std::string& unit, int sets) {
  for (int i = 0; i < 3000; ++i) {
    const std::string counters = units.asked(unit, "counters");
    if (std::stoi(counters.substr(counters.find("\nsets ") + 6)) >= sets) return;
    std::this_thread::sleep_for(10ms);
  }
  FAIL("no SET came to " << unit);
}

std::string file(const std::string& path) {
  std::ifstream in(path);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// A change that goes slowly through standby, and is told to stop in the midst of its first wave.
std::unique_ptr<Child> change_in_standby(const EightUnits& units) {
  units.start_over();
  auto change = units.begin_vergeset(apply);
  await_sets(units, "LK-101", 2);
  return change;
}

/// Which call of an undisturbed change is about in its midst.
int midst(const EightUnits& units) {
  units.start_over();
  return static_cast<int>(crash::calls_of(units, apply).size()) * 2 / 3;
}

/// A unit of the change that was broken off which may have got a SET, by the journal: units take turns as
/// they answer, so which one it is differs from run to run.
std::string unit_in_hand(const EightUnits& units) {
  std::istringstream lines(file(units.records() + "/changes/0001/journal.jsonl"));
  std::vector<std::string> in_hand;
  for (std::string text; std::getline(lines, text);) {
    const auto line = nlohmann::json::parse(text, nullptr, false);
    if (line.is_discarded() || !line.contains("unit")) continue;
    const std::string unit = line["unit"];
    if (line["event"] == "step") in_hand.push_back(unit);
    if (line["event"] == "outcome") std::erase(in_hand, unit);
  }
  REQUIRE_FALSE(in_hand.empty());
  return in_hand.front();
}

/// Kills a change while a unit of it was sent to standby and not back yet, by the journal; which unit. Units
/// take turns as they answer, so at which call one is there differs from run to run.
std::string killed_in_standby(const EightUnits& units, const std::vector<std::string>& words) {
  for (int at = midst(units); at > 0; --at) {
    units.start_over();
    if (crash::vergeset_until(units, words, at, "before").signal != SIGKILL) continue;
    std::istringstream lines(file(units.records() + "/changes/0001/journal.jsonl"));
    std::map<std::string, std::string> mode;
    for (std::string text; std::getline(lines, text);) {
      const auto line = nlohmann::json::parse(text, nullptr, false);
      if (line.is_discarded() || !line.contains("unit")) continue;
      if (line["event"] == "outcome") mode.erase(line["unit"]);
      if (line["event"] == "step" && line.contains("mode")) mode[line["unit"]] = line["mode"];
    }
    for (const auto& [unit, last] : mode) {
      if (last == "standby") return unit;
    }
  }
  FAIL("no unit was ever in standby");
  return {};
}

/// Ctrl-C as a person presses it, and would again.
void press(Child& program) {
  program.signal(SIGINT);
  REQUIRE(program.says("once more stops at once"));
  std::this_thread::sleep_for(300ms);
}

TEST_CASE("Ctrl-C lets the units in hand finish, holds the rest, and leaves nothing to recover") {
  const EightUnits units(lane, 1000);
  const Sides sides = crash::sides_of(units);
  const auto change = change_in_standby(units);
  change->signal(SIGINT);
  const Ended ran = change->wait();
  INFO(ran.text);
  CHECK(ran.status == 6);
  CHECK(has(ran, "3 settled, 5 held"));
  CHECK(units.reading("LK-101") == sides.desired.at("LK-101"));
  CHECK(units.reading("LK-204") == sides.found.at("LK-204"));
  CHECK(crash::judge(units, sides) == "");
}

TEST_CASE(
    "a terminal that is closed, a service that is stopped, and a Ctrl-C that is passed on, stop nothing in "
    "hand") {
  const EightUnits units(lane, 1000);
  units.start_over();
  auto change = units.begin_vergeset(apply);
  await_sets(units, "LK-101", 2);
  for (const int signal : {SIGHUP, SIGHUP, SIGTERM, SIGTERM, SIGINT, SIGINT, SIGINT}) {
    change->signal(signal);
    std::this_thread::sleep_for(20ms);
  }
  const Ended ran = change->wait();
  INFO(ran.text);
  CHECK(ran.status == 6);
  CHECK(has(ran, "3 settled, 5 held"));
}

TEST_CASE("a second Ctrl-C stops at once, apply refuses from then on, and recover mends it", "[long]") {
  const EightUnits units(lane, 1000);
  const Sides sides = crash::sides_of(units);
  const auto change = change_in_standby(units);
  press(*change);
  const auto pressed = std::chrono::steady_clock::now();
  change->signal(SIGINT);
  const Ended ran = change->wait();
  INFO(ran.text);
  CHECK(std::chrono::steady_clock::now() - pressed < 900ms);
  CHECK(ran.status == 6);
  CHECK(has(ran, "Next: vergeset recover"));
  // What was sent is in the unit's log though the program was stopped.
  CHECK_THAT(file(units.records() + "/units/LK-101.log"), Catch::Contains("SET "));
  const int sets = units.sets();
  const Ended refused = units.vergeset(apply);
  INFO(refused.text);
  CHECK(refused.status == 5);
  CHECK(has(refused, "change 0001"));
  CHECK(has(refused, "vergeset recover"));
  CHECK(units.vergeset({"rollback", "1", "--yes"}).status == 5);
  const Ended looked = units.vergeset({"apply", "--dry-run"});
  CHECK(has(looked, "note: change 0001"));
  CHECK(has(looked, "no SET was sent"));
  CHECK(units.sets() == sets);
  CHECK(has(units.vergeset({"changes"}), "note: change 0001 has not ended"));
  CHECK(has(units.vergeset({"log", "LK-101"}), "change 0001 has this unit half done"));
  CHECK(crash::judge(units, sides) == "");
  const Ended again = units.vergeset(apply);
  INFO(again.text);
  CHECK(again.status == 0);
  CHECK(units.readings() == sides.desired);
}

TEST_CASE("Ctrl-C while units are only read ends at once, and no SET is sent") {
  const EightUnits units(lane);
  units.start_over();
  for (const std::string& unit : EightUnits::names()) units.tell(unit, "delay 700");
  const auto change = units.begin_vergeset(apply);
  std::this_thread::sleep_for(1s);
  const auto pressed = std::chrono::steady_clock::now();
  change->signal(SIGINT);
  const Ended ran = change->wait();
  CHECK(std::chrono::steady_clock::now() - pressed < 600ms);
  CHECK(ran.status == 6);
  CHECK(has(ran, "no SET was sent"));
  CHECK(units.sets() == 0);
  CHECK(units.vergeset({"recover"}).text == "nothing to recover\n");
}

TEST_CASE("Ctrl-C twice stops a recovery at once, and the next one mends what is left") {
  const EightUnits units(lane);
  const Sides sides = crash::sides_of(units);
  const int at = midst(units);
  units.start_over();
  CHECK(crash::vergeset_until(units, apply, at, "before").signal == SIGKILL);
  for (const std::string& unit : EightUnits::names()) units.tell(unit, "delay 300");
  const auto recovery = units.begin_vergeset({"recover"});
  REQUIRE(recovery->says("change 0001 has not ended"));
  press(*recovery);
  recovery->signal(SIGINT);
  const Ended ran = recovery->wait();
  INFO(ran.text);
  CHECK(ran.status == 6);
  for (const std::string& unit : EightUnits::names()) units.tell(unit, "clear");
  CHECK(crash::judge(units, sides) == "");
}

TEST_CASE("recover tells who began what and when, and what has become of each unit") {
  const EightUnits units(lane);
  std::vector<std::string> words = apply;
  words.insert(words.end(), {"--why", "new channel"});
  const std::string off_air = killed_in_standby(units, words);
  const Ended ran = units.vergeset({"recover"});
  INFO(ran.text);
  CHECK(ran.status == 0);
  CHECK(has(ran, "change 0001 has not ended: apply (new channel), by "));
  CHECK(has(ran, off_air + " may be in standby since 20"));
  CHECK(has(ran, "restored, "));
  CHECK(has(ran, "change 0001 has ended, 8 units: "));
}

TEST_CASE("a unit out of reach stays unfinished, until it answers or is given up", "[long]") {
  const EightUnits units(lane);
  const Sides sides = crash::sides_of(units);
  const int at = midst(units);
  units.start_over();
  CHECK(crash::vergeset_until(units, apply, at, "before").signal == SIGKILL);
  const std::string lost = unit_in_hand(units);
  units.tell(lost, "drop 1000000");
  const Ended first = units.vergeset({"recover"});
  INFO(first.text);
  CHECK(first.status == 4);
  CHECK(has(first, "change 0001 is unfinished still: " + lost));
  CHECK(units.vergeset(apply).status == 5);
  const bool give_up = GENERATE(false, true);
  if (!give_up) {
    units.tell(lost, "clear");
    CHECK(crash::judge(units, sides) == "");
    return;
  }
  const Ended given_up = units.vergeset({"recover", "--give-up"});
  INFO(given_up.text);
  CHECK(given_up.status == 5);
  CHECK(has(given_up, "needs attention"));
  CHECK(units.vergeset({"recover"}).text == "nothing to recover\n");
  units.tell(lost, "clear");
  const Ended back = units.vergeset({"rollback", "1", lost, "--yes", "--force"});
  INFO(back.text);
  CHECK(back.status == 0);
  CHECK(units.reading(lost) == sides.found.at(lost));
}

TEST_CASE("a disk that is full in the midst of a change ends it with a clear text, and recover mends it") {
  const EightUnits units(lane);
  const Sides sides = crash::sides_of(units);
  const int at = midst(units);
  units.start_over();
  const Ended ran = crash::vergeset_until(units, apply, at, "full");
  INFO(ran.text);
  CHECK((ran.status == 1 || ran.status == 5));
  CHECK(has(ran, "No space left on device"));
  CHECK(crash::judge(units, sides) == "");
}

TEST_CASE("a recovery whose disk is full says so, and the next one mends it", "[long]") {
  const EightUnits units(lane);
  const Sides sides = crash::sides_of(units);
  const int at = midst(units);
  units.start_over();
  CHECK(crash::vergeset_until(units, apply, at, "before").signal == SIGKILL);
  const Ended ran = crash::vergeset_until(units, {"recover"}, GENERATE(3, 40), "full");
  INFO(ran.text);
  CHECK(ran.status != 0);
  CHECK(ran.signal == 0);
  CHECK(has(ran, "No space left on device"));
  CHECK(crash::judge(units, sides) == "");
}

TEST_CASE("where nothing was ever done, nothing is recovered and no records are made") {
  const EightUnits units(lane);
  units.start_over();
  const Ended ran = units.vergeset({"recover"});
  CHECK(ran.status == 0);
  CHECK(ran.text == "nothing to recover\n");
  CHECK(std::filesystem::is_empty(units.records()));
}

}  // namespace
