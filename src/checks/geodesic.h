#pragma once

namespace vergeset::checks {

/// A point of the WGS 84 ellipsoid: degrees, latitude -90..90.
struct Point {
  double latitude = 0;
  double longitude = 0;
  bool operator==(const Point&) const = default;
};

/// The shortest way over the ellipsoid from one point to another.
struct Way {
  double metres = 0;
  double bearing = 0;  ///< at its beginning, degrees clockwise from north, 0 up to but not 360
};

/// By GeographicLib, after C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013): right to
/// nanometres for any two points, antipodes too. Of points that are one the bearing is 180, as GeographicLib
/// has it; from a pole it is relative to the longitude that was given. Not a number where a coordinate is
/// none, or a latitude beyond the poles.
Way way_between(const Point& from, const Point& to);

/// The length alone.
double metres_between(const Point& from, const Point& to);

}  // namespace vergeset::checks
