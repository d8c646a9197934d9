#include <algorithm>
#include <cmath>
#include <set>

#include "catch.h"
#include "sim/moving.h"
#include "small_model.h"

using namespace vergeset;
using namespace small;

TEST_CASE("the NMEA checksum is the exclusive or of what stands between $ and *: NMEA 0183") {
  // A sentence that the trade's introductions to NMEA 0183 show (from memory).
  CHECK(sim::nmea_checksum("GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,") == 0x47);
}

TEST_CASE("a GGA sentence has 15 fields, the position in degrees and minutes, and its own checksum") {
  const std::string text = sim::gga_sentence(sim::Spot{51.5, -1.25, 41.2}, 9, start + 1234);
  CHECK(text.starts_with("$GPGGA,070001.23,5130.0000,N,00115.0000,W,1,09,0.9,41.2,M,"));
  CHECK(std::count(text.begin(), text.end(), ',') == 14);
  const std::size_t star = text.find('*');
  REQUIRE(star + 3 == text.size());
  CHECK(sim::nmea_checksum(text.substr(1, star - 1)) == std::stoi(text.substr(star + 1), nullptr, 16));
  CHECK(text.size() <= 100);  // rsuGpsOutputString SIZE(0..100)
}

TEST_CASE("minutes of arc that round up carry into the degree") {
  CHECK(sim::gga_sentence(sim::Spot{50.99999999, 0, 0}, 9, start).find(",5100.0000,N,00000.0000,E,") !=
        std::string::npos);
}

TEST_CASE("without a site there is no fix and no satellite") {
  auto model = small::model();
  sim::Store store({model.get(), "LK-101", std::nullopt, 0}, nullptr, start);
  CHECK(store.get(scalar(4), start).number == 0);
  CHECK(sim::gga_sentence(std::nullopt, 0, start).find(",,,,,0,00,,") != std::string::npos);
}

TEST_CASE("status moves, within its bounds, and is the same for the same seed and time") {
  const auto seed = sim::seed_of("LK-101");
  std::set<int> seen;
  for (std::int64_t at = start; at < start + 3600000; at += 10000) {
    const int count = sim::satellites(seed, at);
    CHECK((count >= 7 && count <= 12));
    CHECK(count == sim::satellites(seed, at));
    seen.insert(count);
    const int warmth = sim::temperature(seed, at);
    CHECK((warmth >= 18 && warmth <= 46));
    const sim::Spot spot{51.1234567, -1.2345678, 41.2};
    CHECK(sim::metres_between(spot, sim::wander(spot, seed, at)) < 4.0);
  }
  CHECK(seen.size() > 3);
  CHECK(sim::seed_of("LK-101") != sim::seed_of("LK-102"));
}

TEST_CASE(
    "a degree of latitude is 111 km, of longitude at 60 degrees half of that: common practice, no source") {
  CHECK(std::abs(sim::metres_between({51, 0, 0}, {52, 0, 0}) - 111320) < 1);
  CHECK(std::abs(sim::metres_between({60, 0, 0}, {60, 1, 0}) - 55660) < 1);
}

TEST_CASE("DateAndTime of eight octets: RFC 2579") {
  // 2017-10-07 23:34 UTC is 07e10a071722: RSU 4.1 MIB, rsuSRMDeliveryStart.
  CHECK(smi::to_hex(sim::date_and_time(1507419240000)) == "07e10a0717220000");
}

TEST_CASE("messages are counted while a row is active and enabled and the unit operates") {
  Bench bench;
  schema::Object& counter =
      add(*bench.model, "rsuContCchMsgSent", root.child(1).child(11), "Counter32", Access::read_only);
  bench.model->index_objects();
  bench.store = sim::Store({bench.model.get(), "LK-101", {}, 1000}, nullptr, start);
  const smi::Oid sent = counter.oid.child(0);
  auto row = bench.whole_row(1);
  row.push_back(put(message(interval, 1), 100));
  row.push_back(put(message(enable, 1), 1));
  REQUIRE(bench.set(row).ok());
  bench.now += 60000;
  CHECK(bench.number(sent) == 0);  // standby
  REQUIRE(bench.set({put(scalar(5), 3)}).ok());
  bench.now += 1000 + 10000;
  CHECK(bench.number(sent) == 100);  // ten seconds of ten a second
  REQUIRE(bench.set({put(message(enable, 1), 0)}).ok());
  bench.now += 60000;
  CHECK(bench.number(sent) == 100);
}
