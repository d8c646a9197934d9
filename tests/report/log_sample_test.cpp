#include "report/history_text.h"
#include "support/record_samples.h"

using vergeset::test::versions_of;

TEST_CASE("logs of units of every version are read line by line") {
  for (const auto& [version, text] : versions_of("unit-log")) {
    INFO("unit-log-" << version);
    const auto lines = vergeset::report::read_log(text);
    REQUIRE(lines.size() == 2);
    CHECK(lines[0].at == "2026-11-25T02:00:01.000Z");
    CHECK(lines[0].purpose == "change 0042");
    CHECK(lines[0].is_set());
    CHECK(lines[0].what == "SET rsuMode.0 = standby (2): done");
    CHECK_FALSE(lines[1].is_set());
  }
}

TEST_CASE("what units said unasked is read of every version of their logs") {
  for (const auto& [version, text] : versions_of("notification-log")) {
    INFO("notification-log-" << version);
    const auto lines = vergeset::report::read_log(text);
    REQUIRE(lines.size() == 4);
    for (const auto& line : lines) {
      CHECK(line.at == "2026-11-25T02:00:01.000Z");
      CHECK(line.purpose == "listen");
      CHECK_FALSE(line.is_set());
    }
    CHECK(lines[0].what == "notification linkDown: ifIndex.3 = 3; an interface goes out of service (trap)");
    CHECK(lines[1].what == "notification coldStart: it has started anew (inform)");
    CHECK(lines[2].what == "audit: agrees");
    CHECK(lines[3].what == "notifications in the last minute: 1 more linkDown");
  }
}
