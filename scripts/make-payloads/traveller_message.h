#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "map_message.h"

/// The part of SAE J2735 (2016) TravelerInformation that a described notice needs. Order, sizes and
/// bounds are from memory, held against a published message and a decoder of other people,
/// tests/payload; what that message has not (startYear, anchor, path) rests on memory alone.
namespace vergeset::payloads {

struct Circle {
  Position centre;
  int radius = 0;  ///< m
};

struct Path {
  Position anchor;
  int lane_width = 0;  ///< cm
  bool both_ways = true;
  std::vector<Node> nodes;
};

/// TravelerInfoType and the alternatives of `content`, in the standard's order.
enum class FrameType { unknown, advisory, road_signage, commercial_signage };
enum class ContentType { advisory, work_zone, sign, speed_limit, exit };

/// An ITIS code (SAE J2540-2) or words.
using Phrase = std::variant<int, std::string>;

struct Traveller {
  int count = 0;  ///< msgCnt
  FrameType frame = FrameType::unknown;
  int further_info = 0;
  std::optional<int> year;
  std::int64_t minute = 0;     ///< of the year
  int duration = 32000;        ///< minutes; 32000 is for ever
  int priority = 0;            ///< 0..7
  std::uint16_t headings = 0;  ///< HeadingSlice: the high bit is 0 to 22.5 degrees
  std::variant<Circle, Path> region;
  ContentType content = ContentType::advisory;
  std::vector<Phrase> phrases;
};

/// The whole MessageFrame, message id 31.
std::string encode(const Traveller& traveller);

}  // namespace vergeset::payloads
