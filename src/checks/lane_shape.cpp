#include "checks/lane_shape.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "smi/result.h"

namespace vergeset::j2735 {

namespace {

LaneShape shape_of_nodes(const Intersection& at, const Lane& lane) {
  LaneShape shape;
  PlanePoint here;
  for (const Node& node : lane.nodes) {
    if (const auto* offset = std::get_if<Offset>(&node.at)) {
      here.east += static_cast<double>(offset->east) / 100;
      here.north += static_cast<double>(offset->north) / 100;
    } else if (const auto* fix = std::get_if<Fix>(&node.at)) {
      if (!at.position.known()) return {{}, "the reference point is not known", 0};
      here = plane_point(at.position, fix->latitude, fix->longitude);
    } else {
      return {{}, "it has nodes of a regional form, which are not read", 0};
    }
    shape.points.push_back(here);
  }
  if (shape.points.empty()) shape.why = "its nodes are of a later version of the standard";
  return shape;
}

void compute(const Computed& how, std::vector<PlanePoint>& points) {
  const auto scale = [](const std::optional<int>& steps) { return 1 + steps.value_or(0) * 0.0005; };
  const double turn = how.turn.value_or(0) * 0.0125 * std::numbers::pi / 180;
  const PlanePoint first = points.front();
  for (PlanePoint& point : points) {
    const double east = (point.east - first.east) * scale(how.scale_east);
    const double north = (point.north - first.north) * scale(how.scale_north);
    point.east = first.east + east * std::cos(turn) + north * std::sin(turn);
    point.north = first.north - east * std::sin(turn) + north * std::cos(turn);
    point.east += static_cast<double>(how.east) / 100;
    point.north += static_cast<double>(how.north) / 100;
  }
}

/// The lanes from this one back to the one that has nodes; nothing of a circle.
Result<std::vector<const Lane*>> lane_origins(const Intersection& at, const Lane& lane) {
  std::vector<const Lane*> chain{&lane};
  while (chain.back()->computed) {
    const int from = chain.back()->computed->lane;
    const auto found =
        std::find_if(at.lanes.begin(), at.lanes.end(), [&](const Lane& other) { return other.id == from; });
    if (found == at.lanes.end())
      return Problem{fmt::format("computed from lane {}, which is not there", from)};
    if (std::find(chain.begin(), chain.end(), &*found) != chain.end()) {
      return Problem{fmt::format("computed from lane {}, and so from itself", from)};
    }
    chain.push_back(&*found);
  }
  return chain;
}

}  // namespace

PlanePoint plane_point(const Position& reference, std::int64_t latitude, std::int64_t longitude) {
  // WGS 84: the radii of curvature along the meridian and across it at the reference.
  constexpr double semi_major = 6'378'137;
  constexpr double flattening = 1 / 298.257223563;
  constexpr double eccentricity = flattening * (2 - flattening);
  constexpr double radians = std::numbers::pi / 180 * 1e-7;
  const double at = static_cast<double>(reference.latitude) * radians;
  const double across = semi_major / std::sqrt(1 - eccentricity * std::sin(at) * std::sin(at));
  const double along = across * across * across * (1 - eccentricity) / (semi_major * semi_major);
  constexpr double turn = 3.6e9;  // whole turns of longitude
  const double apart = std::remainder(static_cast<double>(longitude - reference.longitude), turn);
  return {apart * radians * across * std::cos(at),
          static_cast<double>(latitude - reference.latitude) * radians * along};
}

LaneShape shape_of(const Intersection& at, const Lane& lane) {
  const auto chain = lane_origins(at, lane);
  if (!chain) return {{}, chain.problem(), 0};
  LaneShape shape = shape_of_nodes(at, *chain->back());
  if (shape.points.empty()) return shape;
  for (auto each = chain->rbegin() + 1; each != chain->rend(); ++each) {
    compute(*(*each)->computed, shape.points);
  }
  for (std::size_t i = 1; i < shape.points.size(); ++i) {
    shape.length += std::hypot(shape.points[i].east - shape.points[i - 1].east,
                               shape.points[i].north - shape.points[i - 1].north);
  }
  return shape;
}

}  // namespace vergeset::j2735
