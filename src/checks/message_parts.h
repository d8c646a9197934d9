#pragma once

#include <cstdint>
#include <optional>
#include <variant>
#include <vector>

#include "checks/uper.h"

/// What several messages of SAE J2735 (2016) have in common: positions, references, nodes. Bounds and
/// order of fields are from memory, held against other people's decoders (tests/payload).
namespace vergeset::j2735 {

/// Position3D. Latitude and longitude in 1e-7 degree, WGS 84; elevation in decimetres.
struct Position {
  std::int64_t latitude = 0;
  std::int64_t longitude = 0;
  std::optional<std::int64_t> elevation;

  /// The standard has a number for a latitude or longitude that is not known: 900000001, 1800000001.
  bool known() const { return latitude <= 900'000'000 && longitude <= 1'800'000'000; }
  bool operator==(const Position&) const = default;
};

/// IntersectionReferenceID, RoadSegmentReferenceID.
struct Reference {
  std::optional<int> region;
  int id = 0;
  auto operator<=>(const Reference&) const = default;
};

/// Centimetres from the node before, the first from the reference point.
struct Offset {
  std::int64_t east = 0;
  std::int64_t north = 0;
  bool operator==(const Offset&) const = default;
};

/// A node by latitude and longitude, 1e-7 degree.
struct Fix {
  std::int64_t latitude = 0;
  std::int64_t longitude = 0;
  bool operator==(const Fix&) const = default;
};

/// Of a regional form nothing is known but that the node is there.
struct Node {
  std::variant<Offset, Fix, std::monostate> at;
  int width = 0;      ///< cm, change of the lane's width here
  int elevation = 0;  ///< cm, change of the elevation here
  bool stop_line = false;
  bool operator==(const Node&) const = default;
};

/// A lane that has the shape of another, moved, turned and stretched.
struct Computed {
  int lane = 0;
  std::int64_t east = 0;  ///< cm
  std::int64_t north = 0;
  std::optional<int> turn;        ///< 0.0125 degree, clockwise
  std::optional<int> scale_east;  ///< 0.05 percent more than whole
  std::optional<int> scale_north;
  bool operator==(const Computed&) const = default;
};

/// NodeListXY: nodes, or a computed lane; neither of a later version.
struct NodeList {
  std::vector<Node> nodes;
  std::optional<Computed> computed;
  bool operator==(const NodeList&) const = default;
};

/// A node of NodeListLL, 1e-7 degree: from the node before, or a position of its own.
struct DegreeNode {
  bool fix = false;
  std::int64_t latitude = 0;
  std::int64_t longitude = 0;
  bool operator==(const DegreeNode&) const = default;
};

inline constexpr int most_minute = 527'040;  ///< MinuteOfTheYear

Position read_position(Uper& in);
Reference read_reference(Uper& in);
NodeList read_node_list(Uper& in);
std::vector<DegreeNode> read_degree_nodes(Uper& in);

/// SEQUENCE (SIZE (1..4)) OF RegionalExtension: passed over.
void skip_regional(Uper& in);
/// One RegionalExtension.
void skip_one_regional(Uper& in);
void skip_speed_limits(Uper& in);

/// An optional INTEGER (0..high).
std::optional<int> read_optional(Uper& in, bool there, const char* field, std::int64_t high);

}  // namespace vergeset::j2735
