#include "records/notification_log.h"

#include <algorithm>

#include "catch.h"
#include "records/own_engine.h"
#include "support/memory_disk.h"

using namespace vergeset::records;
using vergeset::test::MemoryDisk;
using Took = NotificationLog::Took;

namespace {

using Time = NotificationLog::Time;
using std::chrono::minutes;
using std::chrono::seconds;

class StoppedClock : public Clock {
 public:
  std::int64_t now() const override { return 1795658400000; }  // 2026-11-26T02:00Z
};

/// Notes which appends were on stable storage.
class SyncedDisk : public MemoryDisk {
 public:
  void append(const std::string& path, std::string_view octets, bool durable) override {
    MemoryDisk::append(path, octets, durable);
    if (durable) ++synced;
  }
  int synced = 0;
};

const StoppedClock stopped;
const std::string path = "units/LK-104.log";

NotificationLog::Line trap(const std::string& name, const std::string& about = {}) {
  return {name, "notification " + name + about + " (trap)", false};
}
NotificationLog::Line inform(const std::string& name) {
  return {name, "notification " + name + " (inform)", true};
}

std::size_t lines_of(const std::string& text) {
  return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

const auto no_one = [](const std::string&, const std::string&) {};

}  // namespace

TEST_CASE("a notification is a line of its unit's log, an inform on stable storage") {
  SyncedDisk disk;
  NotificationLog log(disk, stopped);
  CHECK(log.add("LK-104", trap("coldStart"), Time(0)) == Took::written);
  CHECK(disk.files[path].empty());
  log.flush();
  CHECK(disk.files[path] == "2026-11-26T02:00:00.000Z  listen       notification coldStart (trap)\n");
  CHECK(disk.synced == 0);
  CHECK(log.add("LK-104", inform("linkUp"), Time(0)) == Took::written);
  log.flush();
  CHECK(disk.synced == 1);
  CHECK(lines_of(disk.files[path]) == 2);
}

TEST_CASE("what is said again within a minute is counted and told at its end") {
  MemoryDisk disk;
  NotificationLog log(disk, stopped);
  for (int i = 0; i < 38; ++i) log.add("LK-104", trap("linkDown"), seconds(i));
  log.add("LK-104", trap("coldStart"), seconds(40));
  log.close_minutes(seconds(59), false, no_one);
  log.flush();
  CHECK(lines_of(disk.files[path]) == 2);
  std::string told;
  log.close_minutes(seconds(61), false,
                    [&](const std::string& unit, const std::string& text) { told = unit + " " + text; });
  log.flush();
  CHECK(told == "LK-104 notifications in the last minute: 37 more linkDown");
  CHECK_THAT(disk.files[path], Catch::Contains("37 more linkDown"));
  CHECK(log.add("LK-104", trap("linkDown"), seconds(62)) == Took::written);  // a new minute
}

TEST_CASE("a unit that says something else each time fills no disk, and others have their own lines") {
  MemoryDisk disk;
  NotificationLog log(disk, stopped);
  Time now(0);
  for (int i = 0; i < 24 * 60; ++i) {
    for (int k = 0; k < 20; ++k) log.add("LK-104", trap("linkDown", ": " + std::to_string(i * 20 + k)), now);
    now += minutes(1);
    log.close_minutes(now, false, no_one);
    log.flush();
  }
  const std::size_t lines = lines_of(disk.files[path]);
  CHECK(lines > 1400);
  CHECK(lines <= 60 + 2 * 24 * 60);  // README: sixty at once, one a minute, and what was left out of each
  CHECK(log.add("LK-117", trap("coldStart"), now) == Took::written);
}

TEST_CASE("an inform beyond the rate is refused, not counted, so that its unit keeps it") {
  MemoryDisk disk;
  NotificationLog log(disk, stopped);
  for (int i = 0; i < 60; ++i) CHECK(log.add("LK-104", inform("linkDown"), Time(0)) == Took::written);
  CHECK(log.add("LK-104", inform("linkDown"), Time(0)) == Took::refused);
  CHECK(log.add("LK-104", inform("linkDown"), minutes(2)) == Took::written);
  log.close_minutes(minutes(3), true, no_one);
  log.flush();
  CHECK_THAT(disk.files[path], Catch::Contains("1 not acknowledged, over its rate"));
}

TEST_CASE("of units that are quiet nothing is held") {
  MemoryDisk disk;
  NotificationLog log(disk, stopped);
  for (int i = 0; i < 1000; ++i) log.add("LK-" + std::to_string(i), trap("coldStart"), Time(0));
  CHECK(log.units_held() == 1000);
  log.close_minutes(minutes(2), false, no_one);
  CHECK(log.units_held() == 0);
}

TEST_CASE("a disk that is full is told before anything could be acknowledged") {
  MemoryDisk disk;
  disk.writes_left = 0;
  NotificationLog log(disk, stopped);
  log.add("LK-104", inform("coldStart"), Time(0));
  CHECK_THROWS_AS(log.flush(), DiskError);
}

namespace {

std::string drawn() {
  return "\x80\x01\x02\x03\x05street";
}

}  // namespace

TEST_CASE("our own engine keeps its id and counts its starts, the new one on disk before it is told") {
  // RFC 3414 2.2
  MemoryDisk disk;
  const auto first = start_own_engine(disk, drawn);
  REQUIRE(first);
  CHECK(first->id == drawn());
  CHECK(first->boots == 1);
  const auto second = start_own_engine(disk, [] { return std::string("another"); });
  REQUIRE(second);
  CHECK(second->id == drawn());
  CHECK(second->boots == 2);
  disk.writes_left = 0;
  CHECK_THROWS_AS(start_own_engine(disk, drawn), DiskError);
}

TEST_CASE(
    "a record of our engine that cannot be read, or has counted to its end, is told and left as it is") {
  for (const std::string text :
       {"", "{", "[]", "{\"engine\":\"80\",\"boots\":3}", "{\"engine\":\"8001020304\"}",
        "{\"engine\":\"8001020304\",\"boots\":-1}", "{\"engine\":\"8001020304\",\"boots\":2147483646}"}) {
    INFO(text);
    MemoryDisk disk;
    disk.files["listen/engine.json"] = text;
    const auto own = start_own_engine(disk, drawn);
    REQUIRE_FALSE(own);
    CHECK_THAT(own.problem(), Catch::Contains("listen/engine.json") && Catch::Contains("from a copy"));
    CHECK(disk.files["listen/engine.json"] == text);
  }
}
