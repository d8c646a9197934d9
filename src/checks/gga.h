#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "checks/geodesic.h"

namespace vergeset::checks {

/// What a GGA sentence of NMEA 0183 says: `$GPGGA,time,ddmm.mmmm,N,dddmm.mmmm,W,quality,satellites,dilution,
/// altitude,M,separation,M,age,station*checksum`, of whatever system of satellites.
struct Gga {
  int quality = 0;          ///< 0 is no fix
  std::optional<Point> at;  ///< nothing without a fix
  std::optional<int> satellites;
  std::optional<double> altitude;    ///< m above mean sea level; nothing without a fix
  std::optional<double> separation;  ///< m from the WGS 84 ellipsoid up to mean sea level
};

/// Nothing where the text is no such sentence, its checksum is wrong, or its position none of the Earth's.
std::optional<Gga> parse_gga(std::string_view text);

}  // namespace vergeset::checks
