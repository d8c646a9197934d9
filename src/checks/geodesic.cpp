#include "checks/geodesic.h"

#include <GeographicLib/Geodesic.hpp>

namespace vergeset::checks {

Way way_between(const Point& from, const Point& to) {
  Way way;
  double arrival = 0;
  GeographicLib::Geodesic::WGS84().Inverse(from.latitude, from.longitude, to.latitude, to.longitude,
                                           way.metres, way.bearing, arrival);
  if (way.bearing < 0) way.bearing += 360;
  // What is west of north by less than a double can tell from 360, and the zero with a sign.
  if (way.bearing >= 360 || way.bearing == 0) way.bearing = 0;
  return way;
}

double metres_between(const Point& from, const Point& to) {
  return way_between(from, to).metres;
}

}  // namespace vergeset::checks
