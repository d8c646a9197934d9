#include "checks/gga.h"

#include <fmt/format.h>

#include "catch.h"

namespace {

using namespace vergeset::checks;

std::string sentence(const std::string& body) {
  unsigned sum = 0;
  for (const char c : body) sum ^= static_cast<unsigned char>(c);
  return fmt::format("${}*{:02X}", body, sum);
}

TEST_CASE("a GGA sentence gives position, satellites, altitude and how far the ellipsoid is below the sea") {
  // The example of NMEA 0183 that receivers' manuals print, from memory; its checksum is 47.
  const auto gga = parse_gga("$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\r\n");
  REQUIRE(gga);
  CHECK(gga->quality == 1);
  CHECK(gga->at->latitude == Approx(48.1173).margin(1e-9));
  CHECK(gga->at->longitude == Approx(11.5166667).margin(1e-7));
  CHECK(gga->satellites == 8);
  CHECK(gga->altitude == 545.4);
  CHECK(gga->separation == 46.9);
}

TEST_CASE("south and west are negative, whatever system of satellites speaks") {
  const auto gga = parse_gga(sentence("GNGGA,000000.00,5454.5000,S,02005.2500,W,4,12,0.6,-3.5,M,,M,,"));
  REQUIRE(gga);
  CHECK(gga->at->latitude == Approx(-54.9083333));
  CHECK(gga->at->longitude == Approx(-20.0875));
  CHECK(gga->altitude == -3.5);
  CHECK_FALSE(gga->separation);
}

TEST_CASE("without a fix there is no position and no altitude, though fields may be filled") {
  for (const char* quality : {"0", ""}) {
    const auto gga = parse_gga(
        sentence(fmt::format("GPGGA,000000,4807.038,N,01131.000,E,{},03,,545.4,M,46.9,M,,", quality)));
    REQUIRE(gga);
    CHECK(gga->quality == 0);
    CHECK_FALSE(gga->at);
    CHECK_FALSE(gga->altitude);
    CHECK(gga->satellites == 3);
  }
}

TEST_CASE("what is no GGA sentence, or a damaged one, gives nothing") {
  CHECK_FALSE(parse_gga(""));
  CHECK_FALSE(parse_gga("$*00"));
  CHECK_FALSE(parse_gga("*$"));
  CHECK_FALSE(parse_gga("$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*48"));
  CHECK_FALSE(parse_gga("$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,"));
  const char* const bodies[] = {
      "GPRMC,123519,A,4807.038,N,01131.000,E,1,08", "GPGGA,123519,4807.038,N,01131.000,E",
      "GPGGA,123519,4867.038,N,01131.000,E,1,08",   // 67 minutes
      "GPGGA,123519,9000.001,N,01131.000,E,1,08",   // beyond the pole
      "GPGGA,123519,4807.038,X,01131.000,E,1,08",   // no hemisphere
      "GPGGA,123519,4807.038,N,18000.001,E,1,08",   // beyond 180 degrees
      "GPGGA,123519,-4807.038,N,01131.000,E,1,08",  // a sign
      "GPGGA,123519,inf,N,01131.000,E,1,08",        "GPGGA,123519,nan,N,01131.000,E,1,08",
      "GPGGA,123519,0x48,N,01131.000,E,1,08",       "GPGGA,123519,,,,,1,08",
      "GPGGA,123519,4807.038,N,01131.000,E,best,08"};
  for (const char* body : bodies) {
    CAPTURE(body);
    CHECK_FALSE(parse_gga(sentence(body)));
  }
}

}  // namespace
