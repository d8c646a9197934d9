#include "intersections.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "yaml_read.h"

namespace vergeset::payloads {

namespace {

/// A road as it leaves the middle of the intersection. Metres; degrees clockwise from north.
struct Arm {
  double bearing = 0;
  double stop_line = 0;
  double length = 0;  ///< from the middle
  double bend = 0;    ///< how far the road has turned at its end
  double lane_width = 0;
};

/// The longest straight piece between two nodes, and the longest where the road bends.
constexpr double straight_piece = 120;
constexpr double bent_piece = 40;

/// Where the lane is whose middle runs `aside` metres to the right of the road's middle, seen outward,
/// `along` metres from the middle of the intersection. The road turns evenly behind the stop line.
std::pair<double, double> point_on(const Arm& arm, double along, double aside) {
  const double radians = std::numbers::pi / 180;
  double heading = arm.bearing * radians;
  const double bend = arm.bend * radians;
  double east = std::sin(heading) * arm.stop_line;
  double north = std::cos(heading) * arm.stop_line;
  const double beyond = along - arm.stop_line;
  const double turned = bend * beyond / (arm.length - arm.stop_line);
  // The chord of an arc: as long as the arc times sin(half)/half, at half the turn.
  const double half = turned / 2;
  const double chord = half == 0 ? beyond : beyond * std::sin(half) / half;
  east += std::sin(heading + half) * chord;
  north += std::cos(heading + half) * chord;
  heading += turned;
  return {east + std::cos(heading) * aside, north - std::sin(heading) * aside};
}

std::vector<Node> nodes_of(const Arm& arm, double aside) {
  const double beyond = arm.length - arm.stop_line;
  const int pieces = static_cast<int>(std::ceil(beyond / (arm.bend == 0 ? straight_piece : bent_piece)));
  std::vector<Node> nodes;
  Node before;  // in whole centimetres, so that rounding does not add up from node to node
  for (int i = 0; i <= pieces; ++i) {
    const auto [east, north] = point_on(arm, arm.stop_line + beyond * i / pieces, aside);
    const Node here{std::llround(east * 100), std::llround(north * 100)};
    nodes.push_back({here.east - before.east, here.north - before.north});
    before = here;
  }
  return nodes;
}

void add_turns(const Entry& entry, Lane& lane, int& connection_id) {
  unsigned maneuvers = 0;
  for (const auto& [key, bit] : {std::pair{"left", left}, {"straight", straight}, {"right", right}}) {
    if (!entry.has(key)) {
      continue;
    }
    maneuvers |= bit;
    Connection connection{entry.whole(key), bit, std::nullopt, ++connection_id};
    if (entry.has("signal-group")) {
      connection.signal_group = entry.whole("signal-group");
    }
    lane.connections.push_back(connection);
  }
  lane.maneuvers = maneuvers;
}

void add_arm(const std::string& file, const YAML::Node& node, double lane_width, int approach,
             Intersection& at) {
  const Entry entry(file, node, {"road", "bearing", "stop-line", "length", "bend", "in", "out"});
  const Arm arm{entry.number("bearing"), entry.number("stop-line"), entry.number("length"),
                entry.has("bend") ? entry.number("bend") : 0, lane_width};
  if (arm.length <= arm.stop_line) {
    refuse(file, node, "\"length\" counts from the middle and must be more than \"stop-line\"");
  }
  int connection_id = 0;
  for (const Lane& lane : at.lanes) {
    connection_id += static_cast<int>(lane.connections.size());
  }
  double aside = -arm.lane_width / 2;
  for (const YAML::Node& each : entry.has("in") ? entry.list("in") : YAML::Node(YAML::NodeType::Sequence)) {
    const Entry turns(file, each, {"lane", "left", "straight", "right", "signal-group"});
    Lane lane;
    lane.id = turns.whole("lane");
    lane.ingress = true;
    lane.ingress_approach = approach;
    lane.shared_with = motor_vehicles;
    lane.nodes = nodes_of(arm, aside);
    add_turns(turns, lane, connection_id);
    at.lanes.push_back(lane);
    aside -= arm.lane_width;
  }
  aside = arm.lane_width / 2;
  for (const YAML::Node& each : entry.has("out") ? entry.list("out") : YAML::Node(YAML::NodeType::Sequence)) {
    Lane lane;
    if (!YAML::convert<int>::decode(each, lane.id)) {
      refuse(file, each, "\"out\" must be a list of lane numbers");
    }
    lane.egress = true;
    lane.egress_approach = approach;
    lane.shared_with = motor_vehicles;
    lane.nodes = nodes_of(arm, aside);
    at.lanes.push_back(lane);
    aside += arm.lane_width;
  }
}

/// Each lane once; what a lane leads to is an egress lane of another arm.
void check_lanes(const std::string& file, const YAML::Node& node, const Intersection& at) {
  std::map<int, const Lane*> lanes;
  for (const Lane& lane : at.lanes) {
    if (!lanes.emplace(lane.id, &lane).second) {
      refuse(file, node, fmt::format("lane {} is there twice", lane.id));
    }
  }
  for (const Lane& lane : at.lanes) {
    for (const Connection& connection : lane.connections) {
      const auto to = lanes.find(connection.lane);
      if (to == lanes.end() || !to->second->egress || to->second->egress_approach == lane.ingress_approach) {
        refuse(file, node,
               fmt::format("lane {} leads to lane {}, which is no lane out on another arm", lane.id,
                           connection.lane));
      }
    }
  }
}

Map read_one(const std::string& file, const YAML::Node& node) {
  const Entry entry(
      file, node,
      {"id", "place", "revision", "latitude", "longitude", "elevation", "lane-width", "speed-limit", "arms"});
  Intersection at;
  at.name = entry.text("place");
  at.id = entry.whole("id");
  at.revision = entry.whole("revision");
  at.position.latitude = entry.steps("latitude", 1e-7);
  at.position.longitude = entry.steps("longitude", 1e-7);
  at.position.elevation = entry.steps("elevation", 0.1);
  at.lane_width = static_cast<int>(entry.steps("lane-width", 0.01));
  constexpr double mile_per_hour = 0.44704;  // m/s
  at.speed_limit = static_cast<int>(std::lround(entry.number("speed-limit") * mile_per_hour / 0.02));
  int approach = 0;
  for (const YAML::Node& arm : entry.list("arms")) {
    add_arm(file, arm, entry.number("lane-width"), ++approach, at);
  }
  check_lanes(file, node, at);
  return {std::nullopt, at.revision, {at}};
}

}  // namespace

std::map<std::string, Map> read_intersections(const std::string& file) {
  std::map<std::string, Map> maps;
  for_each_entry(file, "intersections", [&](const std::string& unit, const YAML::Node& node) {
    const Map map = read_one(file, node);
    encode(map);  // finds what is out of bounds while the place is known
    maps[unit] = map;
  });
  return maps;
}

}  // namespace vergeset::payloads
