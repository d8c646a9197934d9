#pragma once

#include <optional>
#include <string>
#include <vector>

#include "checks/map_message.h"

/// Where the lanes of a MAP lie: offsets summed up, positions turned into metres, computed lanes worked out.
namespace vergeset::j2735 {

/// Metres east and north of the intersection's reference point.
struct PlanePoint {
  double east = 0;
  double north = 0;
};

struct LaneShape {
  std::vector<PlanePoint> points;  ///< empty where `why` says
  std::string why;                 ///< why it has none: "computed from lane 7, which is not there"
  double length = 0;               ///< m, along its points
};

/// Of a computed lane: the points of its lane scaled and turned about the first of them, then moved (from
/// memory). A lane that is computed from one that is computed itself goes back to where nodes are; one that
/// comes back to itself has no shape.
LaneShape shape_of(const Intersection& at, const Lane& lane);

/// Metres on a plane at the reference's latitude; over the few kilometres that a message spans it is right
/// to some centimetres.
PlanePoint plane_point(const Position& reference, std::int64_t latitude, std::int64_t longitude);

}  // namespace vergeset::j2735
