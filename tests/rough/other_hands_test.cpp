#include <filesystem>

#include "catch.h"
#include "rough/child.h"
#include "sim/served_fleet.h"

/// Two of the built program at once, with records of their own, which cannot know of each other by those.
namespace {

using rough::Child;
using served::ServedFleet;

constexpr const char* fleet =
    "fleet: Larkmoor test bench\nmode-wait: 5 s\nfailures-allowed: 5\nfactory-communities: []\n"
    "credentials:\n"
    "  larkmoor: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: SERVED_PRIV}}\n"
    "settings: {unit-id: \"{unit}\", mode: operate, notify-address: 192.0.2.10}\n";

class Desk {
 public:
  Desk() {
    ::setenv("VERGESET_LOCKS", served_.path("locks").c_str(), 1);
    std::ofstream(served_.path("fleet.yaml")) << fleet;
    REQUIRE(served_.start());
  }
  ~Desk() { ::unsetenv("VERGESET_LOCKS"); }
  Desk(const Desk&) = delete;
  Desk& operator=(const Desk&) = delete;

  std::vector<std::string> apply(const std::string& records, const std::string& unit = "") const {
    std::vector<std::string> words{
        PROGRAM, "apply", "--yes", "--fleet", served_.path(""), "--records", served_.path(records)};
    if (!unit.empty()) words.push_back(unit);
    return words;
  }
  std::string log(const std::string& name) const { return served_.path(name + ".log"); }
  std::size_t locks() const {
    std::error_code error;
    const std::filesystem::directory_iterator all(served_.path("locks"), error);
    return static_cast<std::size_t>(std::distance(begin(all), end(all)));
  }
  std::string sets(const std::string& unit) const { return served_.tell(unit + " counters").text; }
  void tell(const std::string& words) const { REQUIRE(served_.tell(words).status == 0); }

 private:
  ServedFleet served_;
};

TEST_CASE("a unit that another vergeset has in hand is refused with who has it, and the others go on") {
  const Desk desk;
  desk.tell("LK-101 delay 100");
  Child first(desk.apply("north", "LK-101"), desk.log("first"));
  REQUIRE(rough::wait_until([&] { return desk.locks() == 1; }));
  first.signal(SIGSTOP);
  const std::string before = desk.sets("LK-101");

  const Child::End second = Child(desk.apply("south"), desk.log("second")).wait();
  INFO(second.text);
  CHECK(second.status == 5);
  CHECK_THAT(second.text, Catch::Contains("1 settled, 1 refused"));
  CHECK_THAT(second.text, Catch::Contains("in the hands of") && Catch::Contains("(apply, since 20") &&
                              Catch::Contains("process " + std::to_string(first.process())));
  const auto sets_of = [](const std::string& counters) { return counters.substr(counters.find("sets ")); };
  CHECK(sets_of(desk.sets("LK-101")).substr(0, 7) == sets_of(before).substr(0, 7));

  first.signal(SIGCONT);
  const Child::End ended = first.wait();
  INFO(ended.text);
  CHECK(ended.status == 0);
  CHECK(desk.locks() == 0);
}

TEST_CASE("a unit whose change was killed is free for the next, whatever records that goes by") {
  const Desk desk;
  desk.tell("LK-101 delay 100");
  Child killed(desk.apply("north", "LK-101"), desk.log("killed"));
  REQUIRE(rough::wait_until([&] { return desk.locks() == 1; }));
  killed.signal(SIGKILL);
  CHECK(killed.wait().status == -1);
  CHECK(desk.locks() == 1);
  const Child::End next = Child(desk.apply("south", "LK-101"), desk.log("next")).wait();
  INFO(next.text);
  CHECK(next.status == 0);
  CHECK(desk.locks() == 0);
}

}  // namespace
