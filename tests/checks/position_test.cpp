#include "checks/position.h"

#include <fmt/format.h>

#include "bench.h"

namespace {

using namespace vergeset;
using test::Bench;
using test::Texts;

/// A receiver that finds itself so many metres north of the site, and at 12 m of height.
void finds_itself(Bench& bench, double north) {
  bench.say("rsuGnssStatus", "9");
  bench.say("rsuGnssLat", fmt::format("{:.0f}", (54.9 + north / 111324) * 1e7));
  bench.say("rsuGnssLon", "-200000000");
  bench.say("rsuGnssElv", "1200");
}

std::string gga(const std::string& body) {
  unsigned sum = 0;
  for (const char c : body) sum ^= static_cast<unsigned char>(c);
  return fmt::format("${}*{:02X}", body, sum);
}

TEST_CASE("a unit at its site says nothing of its position") {
  Bench bench("ntcip1218-v01");
  finds_itself(bench, 4);
  CHECK(bench.texts().empty());
  const auto found = checks::found_position(bench.read(), 4);
  CHECK(found.at->latitude == Approx(54.9000359));
  CHECK(found.above_ellipsoid == 12.0);
  CHECK(found.unknown.empty());
}

TEST_CASE("a unit further from its survey than the fleet allows is told with distance and bearing") {
  Bench bench("ntcip1218-v01");
  finds_itself(bench, -212);
  CHECK(bench.texts() ==
        Texts{"it finds itself 212 m south (180 deg) of its surveyed position; at most 15 m are allowed"});
  Bench wide("ntcip1218-v01", "limits: {position-off: 300 m}\n");
  finds_itself(wide, -212);
  CHECK(wide.texts().empty());
}

TEST_CASE("how exact the survey is adds to what is allowed") {
  Bench bench("ntcip1218-v01", "", ", survey-accuracy: 3 m");
  finds_itself(bench, 17);
  CHECK(bench.texts().empty());
  finds_itself(bench, 19);
  CHECK(bench.texts() ==
        Texts{"it finds itself 19 m north (0 deg) of its surveyed position; at most 15 m are "
              "allowed, and 3 m for the survey"});
}

TEST_CASE("each unknown value of NTCIP 1218 is known as unknown") {
  // NTCIP 1218: 900000001, 1800000001, 1000001 and 200001 are "unknown", by the ranges of the objects.
  for (const auto& [name, unknown] : {std::pair("rsuGnssLat", "900000001"), {"rsuGnssLon", "1800000001"}}) {
    Bench bench("ntcip1218-v01");
    finds_itself(bench, 0);
    bench.say(name, unknown);
    CHECK(bench.texts() ==
          Texts{"its position is unknown: it says that it does not know it (rsuGnssLat, rsuGnssLon)"});
    CHECK_FALSE(checks::found_position(bench.read(), 4).at);
  }
  Bench bench("ntcip1218-v01");
  finds_itself(bench, 0);
  bench.say("rsuGnssElv", "1000001");
  bench.say("rsuGnssPositionError", "200001");
  CHECK_FALSE(checks::found_position(bench.read(), 4).above_ellipsoid);
  CHECK_FALSE(checks::found_position(bench.read(), 4).error_m);
  CHECK(bench.texts().empty());
}

TEST_CASE("with fewer satellites than the fleet wants there is no position, and that is said once") {
  Bench bench("ntcip1218-v01");
  finds_itself(bench, 5000);
  bench.say("rsuGnssStatus", "3");
  CHECK(bench.texts() == Texts{"3 satellites; at least 4 are wanted before a position counts"});
  const auto found = checks::found_position(bench.read(), 4);
  CHECK_FALSE(found.at);
  CHECK(found.unknown == "3 satellites, and at least 4 are wanted before a position counts");
  Bench easy("ntcip1218-v01", "limits: {satellites: 3}\n");
  finds_itself(easy, 5000);
  easy.say("rsuGnssStatus", "3");
  CHECK(easy.texts("position-off").size() == 1);
}

TEST_CASE("a position that may be far off by the unit's own account is not judged, and that is said") {
  Bench bench("ntcip1218-v01");
  finds_itself(bench, 80);
  bench.say("rsuGnssPositionError", "3000");
  CHECK(
      bench.texts() ==
      Texts{"its position is not judged: by its own account it may be 300 m off (at most 20 m are allowed)"});
}

TEST_CASE("a unit of RSU 4.1 is where its GGA sentence says") {
  Bench bench("rsu-4.1");
  bench.say("rsuGpsStatus", "8");
  bench.say_octets("rsuGpsOutputString",
                   gga("GPGGA,020000.00,5454.0000,N,02000.0000,W,1,08,0.9,12.0,M,47.0,M,,"));
  CHECK(bench.texts().empty());
  bench.say_octets("rsuGpsOutputString",
                   gga("GPGGA,020000.00,5454.0000,N,01959.8000,W,1,08,0.9,12.0,M,47.0,M,,"));
  CHECK(bench.texts() ==
        Texts{"it finds itself 214 m east (90 deg) of its surveyed position; at most 15 m are allowed"});
}

TEST_CASE(
    "a sentence without a fix, of too few satellites, empty or damaged gives no position, and says why") {
  CHECK(Bench("rsu-4.1").texts().empty());  // a unit that was not asked
  const std::pair<std::string, std::string> sentences[] = {
      {"", "rsuGpsOutputString is empty"},
      {gga("GPGGA,020000.00,,,,,0,00,,,M,,M,,"),
       "rsuGpsOutputString says that there is no fix (GGA quality 0)"},
      {gga("GPGGA,020000.00,5454.0000,N,02000.0000,W,1,03,9.9,12.0,M,47.0,M,,"),
       "3 satellites, and at least 4 are wanted before a position counts"},
      {"$GPGGA,020000.00,5454.0000,N,02000.0000,W,1,08,0.9,12.0,M,47.0,M,,*00",
       "rsuGpsOutputString holds no whole GGA sentence with a right checksum"}};
  for (const auto& [sentence, why] : sentences) {
    Bench bench("rsu-4.1");
    bench.say_octets("rsuGpsOutputString", sentence);
    CHECK(bench.texts() == Texts{"its position is unknown: " + why});
  }
}

TEST_CASE("heights are judged apart from the ground, and it is said what they count from") {
  Bench bench("ntcip1218-v01");
  finds_itself(bench, 0);
  bench.say("rsuGnssElv", "6200");
  CHECK(bench.texts() == Texts{"it finds itself 50 m above its surveyed elevation, counted from the WGS 84 "
                               "ellipsoid; at most 30 m are allowed, and the geoid may be the reason"});
  CHECK(bench.health().front().severity == fleet::Severity::notice);
  // A sentence counts from the sea and says where the ellipsoid is: whichever the survey means may fit.
  Bench older("rsu-4.1");
  for (const char* altitude : {"12.0", "-35.0"}) {
    older.say_octets(
        "rsuGpsOutputString",
        gga(fmt::format("GPGGA,020000.00,5454.0000,N,02000.0000,W,1,08,0.9,{},M,47.0,M,,", altitude)));
    CHECK(older.texts().empty());
  }
}

TEST_CASE("a unit's own reference is held against where it finds itself and against the survey") {
  Bench bench("ntcip1218-v01");
  finds_itself(bench, 0);
  bench.say("rsuLocationLat", "549009000");  // 100 m north
  bench.say("rsuLocationLon", "-200000000");
  CHECK(
      bench.texts() ==
      Texts{"its reference position is 100 m north (0 deg) of the surveyed one; at most 5 m are allowed",
            "it finds itself 100 m south (180 deg) of its own reference position; at most 15 m are allowed"});
}

TEST_CASE("where reference and survey are one place, a unit that is off is told once") {
  Bench bench("ntcip1218-v01");
  finds_itself(bench, 40);
  bench.say("rsuLocationLat", "549000000");
  bench.say("rsuLocationLon", "-200000000");
  CHECK(bench.texts() ==
        Texts{"it finds itself 40 m north (0 deg) of its surveyed position; at most 15 m are allowed"});
}

TEST_CASE("a reference that the unit does not know is none") {
  Bench bench("ntcip1218-v01");
  finds_itself(bench, 0);
  bench.say("rsuLocationLat", "900000001");
  bench.say("rsuLocationLon", "1800000001");
  bench.say("rsuLocationElv", "1000001");
  CHECK(bench.texts().empty());
  CHECK_FALSE(checks::reference_place(bench.read()).at);
  CHECK_FALSE(checks::reference_place(bench.read()).height);
}

TEST_CASE("a way is told in words that fit its length") {
  CHECK(checks::way_text({3.26, 359.6}) == "3.3 m north (0 deg)");
  CHECK(checks::way_text({212.4, 225}) == "212 m south-west (225 deg)");
  CHECK(checks::way_text({20003931, 100}) == "20004 km east (100 deg)");
}

}  // namespace
