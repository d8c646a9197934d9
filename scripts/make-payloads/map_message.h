#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "bits.h"

/// The part of SAE J2735 (2016) MapData that a described intersection needs. Order, sizes and bounds
/// of the fields are from memory: the standard was not at hand. They are held against two published
/// messages and a decoder of other people, tests/payload.
namespace vergeset::payloads {

/// 1e-7 degree; elevation in decimetres.
struct Position {
  std::int64_t latitude = 0;
  std::int64_t longitude = 0;
  std::optional<std::int64_t> elevation;
};

/// Centimetres to the east and to the north of the node before; the first of the reference point.
struct Node {
  std::int64_t east = 0;
  std::int64_t north = 0;
};

/// AllowedManeuvers, BIT STRING (SIZE (12)).
enum Maneuver : unsigned { straight = 1U << 11, left = 1U << 10, right = 1U << 9 };

struct Connection {
  int lane = 0;  ///< the egress lane
  std::optional<unsigned> maneuvers;
  std::optional<int> signal_group;
  std::optional<int> id;
};

struct Lane {
  int id = 0;
  std::optional<int> ingress_approach;
  std::optional<int> egress_approach;
  bool ingress = false;
  bool egress = false;
  unsigned shared_with = 0;  ///< LaneSharing, BIT STRING (SIZE (10))
  std::optional<unsigned> maneuvers;
  std::vector<Node> nodes;
  std::vector<Connection> connections;
};

/// LaneSharing's individualMotorizedVehicleTraffic(3).
inline constexpr unsigned motor_vehicles = 1U << 6;

struct Intersection {
  std::string name;  ///< empty: none
  std::optional<int> region;
  int id = 0;
  int revision = 0;
  Position position;
  std::optional<int> lane_width;   ///< cm
  std::optional<int> speed_limit;  ///< 0.02 m/s, vehicleMaxSpeed
  std::vector<Lane> lanes;
};

struct Map {
  std::optional<std::int64_t> minute;  ///< of the year
  int revision = 0;
  std::vector<Intersection> intersections;
};

/// The whole MessageFrame, message id 18.
std::string encode(const Map& map);

void put_position(Bits& bits, const Position& position);
/// NodeListXY: each node in the narrowest of its six forms.
void put_nodes(Bits& bits, const std::vector<Node>& nodes);

}  // namespace vergeset::payloads
