#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "checks/as_read.h"
#include "checks/finding.h"
#include "checks/geodesic.h"
#include "fleet/fleet.h"

namespace vergeset::checks {

/// Where a unit finds itself, by rsuGnssLat, rsuGnssLon and rsuGnssElv, or else by the GGA sentence that it
/// gives out. What it says that it does not know is not known here either.
struct FoundPosition {
  std::optional<Point> at;
  std::string unknown;            ///< why there is no position, in words; empty where there is one
  bool told = false;              ///< it says something of it, if only that it does not know it
  bool few_satellites = false;    ///< which is why, by the unit's own count
  std::string from;               ///< the objects that it is from
  std::optional<double> error_m;  ///< the unit's own estimate of its error, rsuGnssPositionError
  /// Heights in metres. NTCIP 1218 counts rsuGnssElv from the WGS 84 ellipsoid (from memory: check it against
  /// the unit's MIB), a GGA sentence from mean sea level, and tells how far that is above the ellipsoid.
  std::optional<double> above_ellipsoid;
  std::optional<double> above_sea;
};

/// Fewer satellites than `satellites` make no position.
FoundPosition found_position(const AsRead& read, double satellites);

/// The objects that it looks at.
std::vector<const schema::Object*> position_objects(const schema::Model& model);

/// A place and its height; the height's zero is not on record.
struct Place3D {
  std::optional<Point> at;
  std::optional<double> height;
};

Place3D surveyed_place(const fleet::Site& site);
/// The reference that the unit itself holds (rsuLocationLat, rsuGpsRefLat and so on), as found; none at 0, 0.
Place3D reference_place(const AsRead& read);

/// How far something is from where it should be.
struct Off {
  std::optional<Way> way;    ///< from where it should be
  std::optional<double> up;  ///< metres; negative: too low
  bool up_from_sea = false;  ///< the unit's height is above sea level, not above the ellipsoid
};

/// A unit's position against the survey and against its own reference, and that against the survey.
struct Position {
  FoundPosition found;
  double accuracy_m = 0;  ///< of the survey, as its site record says
  Off from_survey;
  Off from_reference;
  std::optional<Way> reference_from_survey;
};

Position position_of(const AsRead& read, const fleet::Site& site, const fleet::Limits& limits);

/// Further from the survey or from the unit's own reference than the fleet allows, higher or lower, a
/// reference that is not the survey's, a position that is not known or too vague to tell.
void judge_position(const Position& position, const fleet::Limits& limits, Findings& findings);

/// "212 m south-west (225 deg)", to a tenth of a metre below ten.
std::string way_text(const Way& way);

}  // namespace vergeset::checks
