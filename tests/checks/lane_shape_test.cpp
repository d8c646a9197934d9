#include "checks/lane_shape.h"

#include "catch.h"

using namespace vergeset::j2735;

namespace {

Lane lane_with(int id, std::vector<Node> nodes) {
  Lane lane;
  lane.id = id;
  lane.nodes = std::move(nodes);
  return lane;
}

Lane computed_from(int id, int from, const Computed& how = {}) {
  Lane lane;
  lane.id = id;
  lane.computed = how;
  lane.computed->lane = from;
  return lane;
}

Intersection crossing() {
  Intersection at;
  at.position = {549000000, -200000000, std::nullopt};
  at.lanes.push_back(lane_with(1, {{Offset{200, 1000}}, {Offset{0, 3000}}, {Offset{-400, 0}}}));
  return at;
}

void check_point(const PlanePoint& point, double east, double north) {
  CHECK(point.east == Approx(east).margin(1e-9));
  CHECK(point.north == Approx(north).margin(1e-9));
}

}  // namespace

TEST_CASE("a lane's offsets add up from node to node, and its length is along them") {
  const Intersection at = crossing();
  const LaneShape shape = shape_of(at, at.lanes[0]);
  REQUIRE(shape.points.size() == 3);
  check_point(shape.points[0], 2, 10);
  check_point(shape.points[1], 2, 40);
  check_point(shape.points[2], -2, 40);
  CHECK(shape.length == Approx(34));
}

// WGS 84: at 54.9 degrees north a degree of latitude is 111.31 km and one of longitude 64.14 km (the
// published series of the radii of curvature, worked out by hand).
TEST_CASE("a node by latitude and longitude lies where these are") {
  Intersection at = crossing();
  at.lanes.push_back(
      lane_with(2, {{Fix{549001000, -200000000}}, {Fix{549001000, -199999000}}, {Offset{100, 0}}}));
  const LaneShape shape = shape_of(at, at.lanes[1]);
  REQUIRE(shape.points.size() == 3);
  CHECK(shape.points[0].north == Approx(11.131).margin(0.002));
  CHECK(shape.points[0].east == Approx(0).margin(1e-9));
  CHECK(shape.points[1].east == Approx(6.414).margin(0.002));
  CHECK(shape.points[2].east - shape.points[1].east == Approx(1));
}

TEST_CASE("longitudes on both sides of the date line are near each other") {
  const PlanePoint point = plane_point({0, 1799999990, std::nullopt}, 0, -1799999990);
  CHECK(point.east == Approx(0.2226).margin(0.001));
}

// From memory: turned and scaled about the first point, then moved.
TEST_CASE("a computed lane is its lane, turned clockwise, scaled and moved") {
  Intersection at = crossing();
  Computed how;
  how.east = -500;
  how.north = 100;
  at.lanes.push_back(computed_from(2, 1, how));
  how = {};
  how.turn = 7200;  // 90 degrees
  at.lanes.push_back(computed_from(3, 1, how));
  how = {};
  how.scale_north = -1000;  // half
  how.scale_east = 2000;    // twice
  at.lanes.push_back(computed_from(4, 1, how));

  const auto moved = shape_of(at, at.lanes[1]).points;
  check_point(moved.at(0), -3, 11);
  check_point(moved.at(2), -7, 41);
  const auto turned = shape_of(at, at.lanes[2]).points;
  check_point(turned.at(0), 2, 10);
  check_point(turned.at(1), 32, 10);
  check_point(turned.at(2), 32, 14);
  const auto scaled = shape_of(at, at.lanes[3]).points;
  check_point(scaled.at(1), 2, 25);
  check_point(scaled.at(2), -6, 25);
}

TEST_CASE("a lane computed from a computed one has a shape, and one that comes back to itself has none") {
  Intersection at = crossing();
  Computed how;
  how.east = 100;
  at.lanes.push_back(computed_from(2, 1, how));
  at.lanes.push_back(computed_from(3, 2, how));
  at.lanes.push_back(computed_from(4, 5));
  at.lanes.push_back(computed_from(5, 4));
  at.lanes.push_back(computed_from(6, 77));
  check_point(shape_of(at, at.lanes[2]).points.at(0), 4, 10);
  CHECK(shape_of(at, at.lanes[3]).why == "computed from lane 4, and so from itself");
  CHECK(shape_of(at, at.lanes[5]).why == "computed from lane 77, which is not there");
  CHECK(shape_of(at, at.lanes[5]).points.empty());
}
