#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "change/as_found.h"
#include "fleet/fleet.h"

namespace vergeset::change {

/// Whether the unit that answered is the one of the inventory: its model, its engine id where the
/// inventory states one, its rsuID (which must not be another unit's of this fleet; a factory unit has
/// one that is nobody's), its position where the fleet says how far it may be. Nothing where it is;
/// otherwise what speaks against it. Pure.
std::optional<std::string> wrong_unit(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                      const AsFound& found);

/// The first of these questions alone: whether it is of the inventory's model.
std::optional<std::string> wrong_model(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                       const AsFound& found);

/// The instances that both ask about.
std::vector<smi::Oid> identity_instances(const fleet::Fleet& fleet, const fleet::Unit& unit);

/// Metres between two points by the haversine formula on a sphere of 6,371,008.8 m (IUGG mean radius):
/// within 0.6 % of the geodesic, enough to tell one site from another.
double distance_m(double latitude_a, double longitude_a, double latitude_b, double longitude_b);

/// Latitude and longitude (degrees) of an NMEA 0183 GGA sentence with a fix and a right checksum.
std::optional<std::pair<double, double>> gga_position(const std::string& sentence);

}  // namespace vergeset::change
