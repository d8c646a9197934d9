#include "fleet/antennas.h"

#include "catch.h"

using namespace vergeset;
using fleet::parse_antennas;

TEST_CASE("antennas are read with their gain, loss and bearing, in whatever order") {
  const auto read = parse_antennas("2 C-V2X 6 dBi, 1.5 dB, 40 deg + 5.9 GHz omni -2dBi +GNSS");
  REQUIRE(read);
  const auto& antennas = *read;
  REQUIRE(antennas.size() == 3);
  CHECK(antennas[0].count == 2);
  CHECK(antennas[0].kind == "C-V2X");
  CHECK(antennas[0].gain_dbi == 6.0);
  CHECK(antennas[0].loss_db == 1.5);
  CHECK(antennas[0].bearing_deg == 40.0);
  CHECK(antennas[1].count == 1);
  CHECK(antennas[1].kind == "5.9 GHz omni");
  CHECK(antennas[1].gain_dbi == -2.0);
  CHECK_FALSE(antennas[1].loss_db);
  CHECK(antennas[2].of_satellites());
  CHECK_FALSE(antennas[0].of_satellites());
}

TEST_CASE("an antenna without a kind, or with a measure twice or out of reason, is a problem") {
  CHECK(parse_antennas("6 dBi").problem() ==
        "expected antennas as in 2 C-V2X 6 dBi, 1.5 dB + GNSS, found 6 dBi");
  CHECK_FALSE(parse_antennas(""));
  CHECK_FALSE(parse_antennas("omni 6 dBi +"));
  CHECK(parse_antennas("omni 6 dBi 7 dBi").problem() == "a gain stands twice for omni");
  CHECK(parse_antennas("omni 60 dBi").problem() == "expected -20 to 40 dBi for a gain, found 60");
  CHECK(parse_antennas("omni 361 deg").problem() == "expected 0 to 360 deg for a bearing, found 361");
  CHECK(parse_antennas("omni nan dBi, inf dB"));  // words of its kind: no numbers
}
