#include "checks/message_parts.h"

#include <fmt/format.h>

namespace vergeset::j2735 {

namespace {

/// NodeOffsetPointXY: node-XY1 to node-XY6, node-LatLon, regional.
std::variant<Offset, Fix, std::monostate> read_offset_point(Uper& in) {
  constexpr std::int64_t reach[] = {512, 1024, 2048, 4096, 8192, 32768};
  const unsigned form = in.choice("form of an offset", 8, false).value_or(0);
  if (form < 6) {
    Offset offset;
    offset.east = in.number("offset to the east", -reach[form], reach[form] - 1);
    offset.north = in.number("offset to the north", -reach[form], reach[form] - 1);
    return offset;
  }
  if (form == 6) {
    Fix fix;
    fix.longitude = in.number("longitude", -1'799'999'999, 1'800'000'001);
    fix.latitude = in.number("latitude", -900'000'000, 900'000'001);
    return fix;
  }
  skip_one_regional(in);
  return std::monostate{};
}

void skip_lane_data(Uper& in) {
  const std::size_t count = in.items("data of a node", 1, 8);
  for (std::size_t i = 0; i < count && in.ok(); ++i) {
    const auto kind = in.choice("data of a node", 7, true);
    if (!kind) continue;
    switch (*kind) {
      case 0:
        in.number("path end angle", -150, 150);
        break;
      case 1:
      case 2:
      case 3:
        in.number("lane crown", -128, 127);
        break;
      case 4:
        in.number("lane angle", -180, 180);
        break;
      case 5:
        skip_speed_limits(in);
        break;
      default:
        skip_regional(in);
    }
  }
}

/// NodeAttributeSetXY; NodeAttributeSetLL is the same.
void read_attributes(Uper& in, Node& node) {
  constexpr unsigned stop_line = 1;  // NodeAttributeXY
  const Preamble set = in.sequence("attributes of a node", 7, true);
  for (std::size_t left = set.has(0) ? in.items("node attributes", 1, 8) : 0; left > 0 && in.ok(); --left) {
    if (in.enumerated("node attribute", 12, true) == stop_line) node.stop_line = true;
  }
  for (const int field : {1, 2}) {  // disabled, enabled
    for (std::size_t left = set.has(field) ? in.items("segment attributes", 1, 8) : 0; left > 0 && in.ok();
         --left) {
      in.enumerated("segment attribute", 38, true);
    }
  }
  if (set.has(3)) skip_lane_data(in);
  if (set.has(4)) node.width = static_cast<int>(in.number("width at a node", -512, 511));
  if (set.has(5)) node.elevation = static_cast<int>(in.number("elevation at a node", -512, 511));
  if (set.has(6)) skip_regional(in);
  in.end_sequence(set);
}

std::vector<Node> read_nodes(Uper& in) {
  std::vector<Node> nodes;
  const std::size_t count = in.items("number of nodes", 2, 63);
  for (std::size_t i = 0; i < count && in.ok(); ++i) {
    Node node;
    const Preamble form = in.sequence("node", 1, true);
    node.at = read_offset_point(in);
    if (form.has(0)) read_attributes(in, node);
    in.end_sequence(form);
    in.within(fmt::format("node {}", i + 1));
    if (in.ok()) nodes.push_back(node);
  }
  return nodes;
}

std::int64_t read_driven_offset(Uper& in, const char* field) {
  const std::int64_t reach = in.choice(field, 2, false) == 0U ? 2047 : 32767;
  return in.number(field, -reach, reach);
}

Computed read_computed(Uper& in) {
  Computed lane;
  const Preamble form = in.sequence("computed lane", 4, true);
  lane.lane = static_cast<int>(in.number("reference lane", 0, 255));
  lane.east = read_driven_offset(in, "offset of a computed lane");
  lane.north = read_driven_offset(in, "offset of a computed lane");
  lane.turn = read_optional(in, form.has(0), "turn of a computed lane", 28'800);
  if (form.has(1)) lane.scale_east = static_cast<int>(in.number("scale of a computed lane", -2048, 2047));
  if (form.has(2)) lane.scale_north = static_cast<int>(in.number("scale of a computed lane", -2048, 2047));
  if (form.has(3)) skip_regional(in);
  in.end_sequence(form);
  return lane;
}

/// NodeOffsetPointLL: node-LL1 to node-LL6, node-LatLon, regional.
DegreeNode read_degree_point(Uper& in) {
  constexpr std::int64_t reach[] = {2048, 8192, 32'768, 131'072, 2'097'152, 8'388'608};
  const unsigned form = in.choice("form of an offset", 8, false).value_or(0);
  DegreeNode node;
  node.fix = form == 6;
  if (form < 6) {
    node.longitude = in.number("offset of longitude", -reach[form], reach[form] - 1);
    node.latitude = in.number("offset of latitude", -reach[form], reach[form] - 1);
  } else if (form == 6) {
    node.longitude = in.number("longitude", -1'799'999'999, 1'800'000'001);
    node.latitude = in.number("latitude", -900'000'000, 900'000'001);
  } else {
    skip_one_regional(in);
  }
  return node;
}

}  // namespace

std::optional<int> read_optional(Uper& in, bool there, const char* field, std::int64_t high) {
  if (!there) return std::nullopt;
  const auto value = static_cast<int>(in.number(field, 0, high));
  return in.ok() ? std::optional(value) : std::nullopt;
}

Position read_position(Uper& in) {
  Position position;
  const Preamble form = in.sequence("position", 2, true);
  position.latitude = in.number("latitude", -900'000'000, 900'000'001);
  position.longitude = in.number("longitude", -1'799'999'999, 1'800'000'001);
  if (form.has(0)) position.elevation = in.number("elevation", -4096, 61'439);
  if (form.has(1)) skip_regional(in);
  in.end_sequence(form);
  return position;
}

Reference read_reference(Uper& in) {
  Reference reference;
  const Preamble form = in.sequence("id", 1, false);
  reference.region = read_optional(in, form.has(0), "region", 65'535);
  reference.id = static_cast<int>(in.number("id", 0, 65'535));
  return reference;
}

NodeList read_node_list(Uper& in) {
  NodeList list;
  const auto kind = in.choice("list of nodes", 2, true);
  if (kind == 0U) list.nodes = read_nodes(in);
  if (kind == 1U) list.computed = read_computed(in);
  return list;
}

std::vector<DegreeNode> read_degree_nodes(Uper& in) {
  std::vector<DegreeNode> nodes;
  if (in.choice("list of nodes", 1, true) != 0U) return nodes;
  const std::size_t count = in.items("number of nodes", 2, 63);
  for (std::size_t i = 0; i < count && in.ok(); ++i) {
    const Preamble form = in.sequence("node", 1, true);
    const DegreeNode node = read_degree_point(in);
    Node attributes;
    if (form.has(0)) read_attributes(in, attributes);
    in.end_sequence(form);
    in.within(fmt::format("node {}", i + 1));
    if (in.ok()) nodes.push_back(node);
  }
  return nodes;
}

void skip_one_regional(Uper& in) {
  in.number("regional part", 0, 255);
  in.skip_open_type("regional part");
}

void skip_regional(Uper& in) {
  const std::size_t count = in.items("regional part", 1, 4);
  for (std::size_t i = 0; i < count && in.ok(); ++i) skip_one_regional(in);
}

void skip_speed_limits(Uper& in) {
  const std::size_t count = in.items("speed limits", 1, 9);
  for (std::size_t i = 0; i < count && in.ok(); ++i) {
    in.enumerated("kind of speed limit", 13, true);
    in.number("speed limit", 0, 8191);
  }
}

}  // namespace vergeset::j2735
