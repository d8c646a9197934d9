#pragma once

#include <optional>
#include <string>
#include <vector>

#include "checks/message_parts.h"

/// SAE J2735 (2016) MapData: the lanes of intersections and road segments.
namespace vergeset::j2735 {

/// AllowedManeuvers, BIT STRING (SIZE (12)): the first bit is the highest.
inline constexpr unsigned maneuver_straight = 1U << 11U;
inline constexpr unsigned maneuver_left = 1U << 10U;
inline constexpr unsigned maneuver_right = 1U << 9U;
inline constexpr unsigned maneuver_u_turn = 1U << 8U;

struct Connection {
  int lane = 0;
  std::optional<unsigned> maneuvers;
  std::optional<Reference> remote;  ///< where the lane is one of another intersection
  std::optional<int> signal_group;
  std::optional<int> user_class;
  std::optional<int> id;
  bool operator==(const Connection&) const = default;
};

/// LaneTypeAttributes, in the standard's order.
enum class LaneKind { vehicle, crosswalk, bike, sidewalk, median, striping, tracked, parking };

struct Lane {
  int id = 0;
  std::string name;
  std::optional<int> ingress_approach;
  std::optional<int> egress_approach;
  bool ingress = false;
  bool egress = false;
  unsigned shared_with = 0;      ///< LaneSharing, BIT STRING (SIZE (10))
  std::optional<LaneKind> kind;  ///< nothing: one of a later version
  unsigned kind_attributes = 0;  ///< 8 bits of a vehicle lane, 16 of others
  std::optional<unsigned> maneuvers;
  std::vector<Node> nodes;
  std::optional<Computed> computed;
  std::vector<Connection> connections;
  std::vector<int> overlays;
  bool operator==(const Lane&) const = default;
};

/// An intersection, or a road segment, which has the same but no lanes that connect across.
struct Intersection {
  std::string name;
  Reference id;
  int revision = 0;
  Position position;
  std::optional<int> lane_width;  ///< cm
  std::vector<Lane> lanes;
  bool operator==(const Intersection&) const = default;
};

struct Map {
  std::optional<int> minute;  ///< of the year, when the message was made
  int revision = 0;           ///< msgIssueRevision
  std::vector<Intersection> intersections;
  std::vector<Intersection> segments;
  bool operator==(const Map&) const = default;
};

Map read_map(Uper& in);

}  // namespace vergeset::j2735
