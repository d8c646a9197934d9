#include "map_message.h"

#include <fmt/format.h>

#include <array>
#include <stdexcept>

namespace vergeset::payloads {

namespace {

/// Octets of text, list sizes and the like are int64 for Bits.
std::int64_t count(std::size_t size) {
  return static_cast<std::int64_t>(size);
}

void put_node(Bits& bits, const Node& node) {
  // node-XY1 to node-XY6: 10, 11, 12, 13, 14 and 16 bits a coordinate.
  constexpr std::array<std::int64_t, 6> limits{512, 1024, 2048, 4096, 8192, 32768};
  const auto fits = [](std::int64_t v, std::int64_t limit) { return v >= -limit && v < limit; };
  std::size_t form = 0;
  while (form < limits.size() && !(fits(node.east, limits[form]) && fits(node.north, limits[form]))) {
    ++form;
  }
  if (form == limits.size()) {
    throw std::out_of_range(
        fmt::format("a node is {} cm east and {} cm north of the one before, and 327 m is the most",
                    node.east, node.north));
  }
  bits.flag(false);  // extension
  bits.flag(false);  // attributes
  bits.number("delta", count(form), 0, 7);
  bits.number("x", node.east, -limits[form], limits[form] - 1);
  bits.number("y", node.north, -limits[form], limits[form] - 1);
}

void put_lane_attributes(Bits& bits, const Lane& lane) {
  bits.flag(false);  // regional
  bits.flag(lane.ingress);
  bits.flag(lane.egress);
  bits.raw(lane.shared_with, 10);
  bits.extensible("laneType", 0, 7);  // vehicle
  bits.flag(false);                   // extension of its BIT STRING (SIZE (8,...))
  bits.raw(0, 8);
}

void put_connection(Bits& bits, const Connection& connection) {
  bits.flag(false);  // remoteIntersection
  bits.flag(connection.signal_group.has_value());
  bits.flag(false);  // userClass
  bits.flag(connection.id.has_value());
  bits.flag(connection.maneuvers.has_value());
  bits.number("connecting lane", connection.lane, 0, 255);
  if (connection.maneuvers) {
    bits.raw(*connection.maneuvers, 12);
  }
  if (connection.signal_group) {
    bits.number("signalGroup", *connection.signal_group, 0, 255);
  }
  if (connection.id) {
    bits.number("connectionID", *connection.id, 0, 255);
  }
}

void put_lane(Bits& bits, const Lane& lane) {
  bits.flag(false);  // extension
  bits.flag(false);  // name
  bits.flag(lane.ingress_approach.has_value());
  bits.flag(lane.egress_approach.has_value());
  bits.flag(lane.maneuvers.has_value());
  bits.flag(!lane.connections.empty());
  bits.flag(false);  // overlays
  bits.flag(false);  // regional
  bits.number("laneID", lane.id, 0, 255);
  if (lane.ingress_approach) {
    bits.number("ingressApproach", *lane.ingress_approach, 0, 15);
  }
  if (lane.egress_approach) {
    bits.number("egressApproach", *lane.egress_approach, 0, 15);
  }
  put_lane_attributes(bits, lane);
  if (lane.maneuvers) {
    bits.raw(*lane.maneuvers, 12);
  }
  put_nodes(bits, lane.nodes);
  if (!lane.connections.empty()) {
    bits.number("connections", count(lane.connections.size()), 1, 16);
    for (const Connection& connection : lane.connections) {
      put_connection(bits, connection);
    }
  }
}

void put_speed_limit(Bits& bits, int speed) {
  bits.number("speedLimits", 1, 1, 9);
  bits.extensible("type", 5, 12);  // vehicleMaxSpeed
  bits.number("speed", speed, 0, 8191);
}

void put_intersection(Bits& bits, const Intersection& at) {
  bits.flag(false);  // extension
  bits.flag(!at.name.empty());
  bits.flag(at.lane_width.has_value());
  bits.flag(at.speed_limit.has_value());
  bits.flag(false);  // preemptPriorityData
  bits.flag(false);  // regional
  if (!at.name.empty()) {
    bits.ia5("name", at.name, 1, 63);
  }
  bits.flag(at.region.has_value());
  if (at.region) {
    bits.number("region", *at.region, 0, 65535);
  }
  bits.number("id", at.id, 0, 65535);
  bits.number("revision", at.revision, 0, 127);
  put_position(bits, at.position);
  if (at.lane_width) {
    bits.number("laneWidth", *at.lane_width, 0, 32767);
  }
  if (at.speed_limit) {
    put_speed_limit(bits, *at.speed_limit);
  }
  bits.number("lanes", count(at.lanes.size()), 1, 255);
  for (const Lane& lane : at.lanes) {
    put_lane(bits, lane);
  }
}

}  // namespace

void put_position(Bits& bits, const Position& position) {
  bits.flag(false);  // extension
  bits.flag(position.elevation.has_value());
  bits.flag(false);  // regional
  bits.number("latitude", position.latitude, -900000000, 900000001);
  bits.number("longitude", position.longitude, -1799999999, 1800000001);
  if (position.elevation) {
    bits.number("elevation", *position.elevation, -4096, 61439);
  }
}

void put_nodes(Bits& bits, const std::vector<Node>& nodes) {
  bits.extensible("nodeList", 0, 1);  // nodes
  bits.number("nodes", count(nodes.size()), 2, 63);
  for (const Node& node : nodes) {
    put_node(bits, node);
  }
}

std::string encode(const Map& map) {
  Bits bits;
  bits.flag(false);  // extension
  bits.flag(map.minute.has_value());
  bits.flag(false);  // layerType
  bits.flag(false);  // layerID
  bits.flag(!map.intersections.empty());
  bits.raw(0, 4);  // roadSegments, dataParameters, restrictionList, regional
  if (map.minute) {
    bits.number("timeStamp", *map.minute, 0, 527040);
  }
  bits.number("msgIssueRevision", map.revision, 0, 127);
  if (!map.intersections.empty()) {
    bits.number("intersections", count(map.intersections.size()), 1, 32);
    for (const Intersection& at : map.intersections) {
      put_intersection(bits, at);
    }
  }
  return message_frame(18, bits.octets());
}

}  // namespace vergeset::payloads
