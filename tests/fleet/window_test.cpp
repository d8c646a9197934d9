#include "fleet/window.h"

#include "catch.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

constexpr int sunday = 0;
constexpr int monday = 1;
constexpr int friday = 5;
constexpr int saturday = 6;

constexpr int at(int hour, int minute = 0) {
  return hour * 60 + minute;
}

Window window(const std::string& text) {
  const auto spans = parse_spans(text);
  REQUIRE(spans);
  return {*spans, text};
}

}  // namespace

TEST_CASE("a window that passes midnight is open on the day behind") {
  const Window nights = window("Mon-Fri 22:00-05:00");
  CHECK(nights.spans.size() == 5);
  CHECK(nights.open(monday, at(22)));
  CHECK_FALSE(nights.open(monday, at(21, 59)));
  CHECK_FALSE(nights.open(monday, at(4)));  // that would be Sunday's night
  CHECK(nights.open(saturday, at(4, 59)));  // Friday's night
  CHECK_FALSE(nights.open(saturday, at(5)));
  CHECK_FALSE(nights.open(saturday, at(23)));
}

TEST_CASE("a night from Saturday reaches into Sunday") {
  const Window night = window("Sat 20:00-08:00");
  CHECK(night.open(saturday, at(20)));
  CHECK(night.open(sunday, at(7, 59)));
  CHECK_FALSE(night.open(sunday, at(8)));
  CHECK_FALSE(night.open(saturday, at(7)));
}

TEST_CASE("days may wrap around the week and be called daily") {
  const Window weekend = window("Fri-Sun 08:00-09:00");
  CHECK(weekend.open(friday, at(8)));
  CHECK(weekend.open(sunday, at(8)));
  CHECK_FALSE(weekend.open(monday, at(8)));
  CHECK(window("daily 01:00-04:00").spans.size() == 7);
}

TEST_CASE("a whole day ends with its midnight") {
  const Window day = window("Mon 00:00-24:00");
  CHECK(day.open(monday, 0));
  CHECK(day.open(monday, at(23, 59)));
  CHECK_FALSE(day.open(2, 0));
}

TEST_CASE("days are known in either case, and nothing else is") {
  CHECK(window("mon-FRI 1:00-2:00").open(friday, at(1, 30)));
  for (const std::string wrong :
       {"", "Mon", "Mon 1-2", "Foo 01:00-02:00", "Mon- 01:00-02:00", "Mon 1:0-2:00", "Mon 01:00-02:00 x",
        "Mon 24:00-24:00", "Mon 24:00-05:00", "Mon-Tue-Wed 01:00-02:00"}) {
    INFO(wrong);
    CHECK_FALSE(parse_spans(wrong));
  }
  CHECK_FALSE(parse_spans(std::string(100000, 'M')));
}

TEST_CASE("no window is always open") {
  CHECK(Window{}.open(3, 0));
}
