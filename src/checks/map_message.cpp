#include "checks/map_message.h"

#include <fmt/format.h>

namespace vergeset::j2735 {

namespace {

void read_lane_attributes(Uper& in, Lane& lane) {
  const Preamble form = in.sequence("lane attributes", 1, false);
  lane.ingress = in.flag("direction of a lane");
  lane.egress = in.flag("direction of a lane");
  lane.shared_with = static_cast<unsigned>(in.raw("sharing of a lane", 10));
  if (const auto kind = in.choice("kind of lane", 8, true)) {
    lane.kind = static_cast<LaneKind>(*kind);
    lane.kind_attributes = static_cast<unsigned>(lane.kind == LaneKind::vehicle
                                                     ? in.extensible_bits("attributes of a vehicle lane", 8)
                                                     : in.raw("attributes of a lane", 16));
  }
  if (form.has(0)) skip_one_regional(in);
}

Connection read_connection(Uper& in) {
  Connection to;
  const Preamble form = in.sequence("connection", 4, false);
  const Preamble lane = in.sequence("connecting lane", 1, false);
  to.lane = static_cast<int>(in.number("connecting lane", 0, 255));
  if (lane.has(0)) to.maneuvers = static_cast<unsigned>(in.raw("maneuvers of a connection", 12));
  if (form.has(0)) to.remote = read_reference(in);
  to.signal_group = read_optional(in, form.has(1), "signal group", 255);
  to.user_class = read_optional(in, form.has(2), "user class", 255);
  to.id = read_optional(in, form.has(3), "connection id", 255);
  return to;
}

Lane read_lane(Uper& in) {
  Lane lane;
  const Preamble form = in.sequence("lane", 7, true);
  lane.id = static_cast<int>(in.number("lane id", 0, 255));
  if (form.has(0)) lane.name = in.ia5("name of a lane", 1, 63);
  lane.ingress_approach = read_optional(in, form.has(1), "approach", 15);
  lane.egress_approach = read_optional(in, form.has(2), "approach", 15);
  read_lane_attributes(in, lane);
  if (form.has(3)) lane.maneuvers = static_cast<unsigned>(in.raw("maneuvers", 12));
  NodeList nodes = read_node_list(in);
  lane.nodes = std::move(nodes.nodes);
  lane.computed = nodes.computed;
  const std::size_t connections = form.has(4) ? in.items("number of connections", 1, 16) : 0;
  for (std::size_t i = 0; i < connections && in.ok(); ++i) lane.connections.push_back(read_connection(in));
  const std::size_t overlays = form.has(5) ? in.items("number of overlays", 1, 5) : 0;
  for (std::size_t i = 0; i < overlays && in.ok(); ++i) {
    lane.overlays.push_back(static_cast<int>(in.number("overlay", 0, 255)));
  }
  if (form.has(6)) skip_regional(in);
  in.end_sequence(form);
  return lane;
}

/// A lane that is cut is left out: half of its nodes would be a lane that nobody drew.
void read_lanes(Uper& in, std::vector<Lane>& lanes) {
  const std::size_t count = in.items("number of lanes", 1, 255);
  for (std::size_t i = 0; i < count && in.ok(); ++i) {
    Lane lane = read_lane(in);
    in.within(fmt::format("lane {} of {}", i + 1, count));
    if (in.ok()) lanes.push_back(std::move(lane));
  }
}

/// What IntersectionGeometry and RoadSegment begin with alike.
void read_place(Uper& in, const Preamble& form, Intersection& at) {
  if (form.has(0)) at.name = in.ia5("name", 1, 63);
  at.id = read_reference(in);
  at.revision = static_cast<int>(in.number("revision", 0, 127));
  at.position = read_position(in);
  at.lane_width = read_optional(in, form.has(1), "lane width", 32'767);
  if (form.has(2)) skip_speed_limits(in);
  read_lanes(in, at.lanes);
}

Intersection read_intersection(Uper& in) {
  Intersection at;
  const Preamble form = in.sequence("intersection", 5, true);
  read_place(in, form, at);
  const std::size_t zones = form.has(3) ? in.items("preemption zones", 1, 32) : 0;
  for (std::size_t i = 0; i < zones && in.ok(); ++i) {
    const Preamble zone = in.sequence("preemption zone", 0, true);
    skip_one_regional(in);
    in.end_sequence(zone);
  }
  if (form.has(4)) skip_regional(in);
  in.end_sequence(form);
  return at;
}

Intersection read_segment(Uper& in) {
  Intersection at;
  const Preamble form = in.sequence("road segment", 4, true);
  read_place(in, form, at);
  if (form.has(3)) skip_regional(in);
  in.end_sequence(form);
  return at;
}

/// One that is cut counts where at least a lane of it is whole, and so all that stands before.
void add_place(const Uper& in, std::vector<Intersection>& places, Intersection at) {
  if (in.ok() || !at.lanes.empty()) places.push_back(std::move(at));
}

void skip_data_parameters(Uper& in) {
  const Preamble form = in.sequence("data parameters", 4, true);
  for (int field = 0; field < 4; ++field) {
    if (form.has(field)) in.ia5("data parameters", 1, 255);
  }
  in.end_sequence(form);
}

void skip_restrictions(Uper& in) {
  const std::size_t classes = in.items("restriction classes", 1, 254);
  for (std::size_t i = 0; i < classes && in.ok(); ++i) {
    in.number("restriction class", 0, 255);
    const std::size_t users = in.items("restricted users", 1, 16);
    for (std::size_t j = 0; j < users && in.ok(); ++j) {
      const auto kind = in.choice("restricted user", 2, true);
      if (kind == 0U) in.enumerated("restricted user", 14, true);
      if (kind == 1U) skip_regional(in);
    }
  }
}

}  // namespace

Map read_map(Uper& in) {
  Map map;
  const Preamble form = in.sequence("MAP", 8, true);
  map.minute = read_optional(in, form.has(0), "time stamp", most_minute);
  map.revision = static_cast<int>(in.number("message revision", 0, 127));
  if (form.has(1)) in.enumerated("layer type", 8, true);
  if (form.has(2)) in.number("layer id", 0, 100);
  const std::size_t intersections = form.has(3) ? in.items("number of intersections", 1, 32) : 0;
  for (std::size_t i = 0; i < intersections && in.ok(); ++i) {
    add_place(in, map.intersections, read_intersection(in));
    in.within(fmt::format("intersection {} of {}", i + 1, intersections));
  }
  const std::size_t segments = form.has(4) ? in.items("number of road segments", 1, 32) : 0;
  for (std::size_t i = 0; i < segments && in.ok(); ++i) {
    add_place(in, map.segments, read_segment(in));
    in.within(fmt::format("road segment {} of {}", i + 1, segments));
  }
  if (form.has(5)) skip_data_parameters(in);
  if (form.has(6)) skip_restrictions(in);
  if (form.has(7)) skip_regional(in);
  in.end_sequence(form);
  return map;
}

}  // namespace vergeset::j2735
