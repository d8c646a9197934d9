#include "snmp/pace.h"
#include "catch.h"

using vergeset::snmp::Pace;
using namespace std::chrono_literals;

namespace {

const Pace::Moment noon{12h};

}  // namespace

TEST_CASE("as many units are in hand at once as was said") {
  const Pace pace(256);
  CHECK(pace.has_room(255));
  CHECK_FALSE(pace.has_room(256));
  CHECK(Pace(0).has_room(0));  // or nothing would ever run
}

TEST_CASE(
    "a loss takes a quarter of the places away, once a second, and each unit that ends gives one back") {
  Pace pace(100);
  pace.lost(noon);
  CHECK(pace.allowed() == 75);
  pace.lost(noon + 900ms);
  CHECK(pace.allowed() == 75);
  pace.lost(noon + 1s);
  CHECK(pace.allowed() == 57);
  for (int i = 0; i < 40; ++i) pace.unit_ends();
  CHECK(pace.allowed() == 97);
  for (int i = 0; i < 40; ++i) pace.unit_ends();
  CHECK(pace.allowed() == 100);
}

TEST_CASE("losses without end leave a few places, and never more than were asked for") {
  Pace many(1000);
  Pace few(3);
  for (int i = 0; i < 100; ++i) {
    many.lost(noon + i * 1s);
    few.lost(noon + i * 1s);
  }
  CHECK(many.allowed() == 8);
  CHECK(few.allowed() == 3);
}

TEST_CASE(
    "a unit is overdue when its answer takes longer than answers do, after a third of the patience at most") {
  Pace pace(10);
  CHECK(pace.overdue(1500ms) == 500ms);
  for (int i = 0; i < 100; ++i) pace.answered(i % 2 == 0 ? 180ms : 220ms);
  CHECK(pace.overdue(1500ms) > 220ms);
  CHECK(pace.overdue(1500ms) < 320ms);
  CHECK(pace.overdue(300ms) == 100ms);
  for (int i = 0; i < 100; ++i) pace.answered(2ms);
  CHECK(pace.overdue(1500ms) == 100ms);
  CHECK(pace.overdue(150ms) == 50ms);
}

TEST_CASE("a silent unit gives its place to another until too many are silent") {
  Pace pace(10);
  for (int i = 0; i < 3; ++i) pace.falls_silent();
  CHECK(pace.has_room(12));
  CHECK_FALSE(pace.has_room(13));
  pace.speaks_again();
  CHECK_FALSE(pace.has_room(12));
  for (int i = 0; i < 38; ++i) pace.falls_silent();
  CHECK_FALSE(pace.has_room(40));
}
