#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "checks/message_parts.h"

/// SAE J2735 (2016) TravelerInformation: what drivers are told, where and when.
namespace vergeset::j2735 {

/// 32000 minutes: until told otherwise.
inline constexpr int lasts_for_ever = 32'000;

/// A circle's radius in its own unit of measure.
struct Circle {
  Position centre;
  int radius = 0;
  unsigned unit = 0;  ///< DistanceUnits, in the standard's order: cm, 2.5 cm, dm, m, km, foot, yard, mile
  bool operator==(const Circle&) const = default;
};

/// GeographicalPath.
struct Region {
  std::string name;
  std::optional<Reference> id;
  std::optional<Position> anchor;
  std::optional<int> lane_width;     ///< cm
  std::optional<unsigned> headings;  ///< HeadingSlice, 16 bits of 22.5 degrees from north, the first highest
  std::optional<int> scale;          ///< Zoom: offsets count by 2 to this
  NodeList path;
  std::vector<DegreeNode> degree_path;
  std::optional<Circle> circle;
  bool old_form = false;  ///< ValidRegion, for messages of 2009
  bool operator==(const Region&) const = default;
};

/// TravelerInfoType, and the alternatives of content, in the standard's order.
enum class FrameKind { unknown, advisory, road_sign, commercial_sign };
enum class ContentKind { advisory, work_zone, sign, speed_limit, exit };

/// An ITIS code (SAE J2540-2), or words.
using Phrase = std::variant<int, std::string>;

/// RoadSignID.
struct SignId {
  Position position;
  unsigned headings = 0;
  std::optional<unsigned> kind;  ///< MUTCDCode
  bool operator==(const SignId&) const = default;
};

struct TravellerFrame {
  std::optional<FrameKind> kind;             ///< nothing: one of a later version
  std::variant<std::string, SignId> msg_id;  ///< FurtherInfoID, two octets, or a road sign's
  std::optional<int> year;                   ///< 0 is not known
  int minute = 0;                            ///< of the year; 527040 is not known
  int duration = lasts_for_ever;             ///< minutes
  int priority = 0;
  std::vector<Region> regions;
  ContentKind content = ContentKind::advisory;
  std::vector<Phrase> phrases;
  std::string url;
  bool operator==(const TravellerFrame&) const = default;
};

struct Traveller {
  int count = 0;                      ///< msgCnt
  std::optional<int> minute;          ///< timeStamp, of the year
  std::optional<std::string> packet;  ///< packetID, nine octets
  std::string url;
  std::vector<TravellerFrame> frames;
  bool operator==(const Traveller&) const = default;
};

Traveller read_traveller(Uper& in);

}  // namespace vergeset::j2735
