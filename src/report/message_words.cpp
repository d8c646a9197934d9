#include "report/message_words.h"

#include <fmt/format.h>

#include <array>

#include "smi/value.h"

namespace vergeset::report {

std::string place_on_earth(const j2735::Position& position) {
  if (!position.known()) return "not known";
  std::string text = fmt::format("{:.7f}, {:.7f}", static_cast<double>(position.latitude) / 1e7,
                                 static_cast<double>(position.longitude) / 1e7);
  // -4096 is an elevation that is not known.
  if (position.elevation && *position.elevation > -4096) {
    text += fmt::format(", {:.1f} m", static_cast<double>(*position.elevation) / 10);
  }
  return text;
}

std::string minute_text(const j2735::Minute& minute) {
  return j2735::calendar_text(minute);
}

std::string headings_text(unsigned slices) {
  if (slices == 0xffff) return "all headings";
  std::string text;
  for (int slice = 0; slice < 16; ++slice) {
    if ((slices >> (15 - slice) & 1U) == 0) continue;
    int last = slice;
    while (last < 15 && (slices >> (14 - last) & 1U) != 0) ++last;
    text += fmt::format("{}{:g} to {:g}", text.empty() ? "headings " : ", ", slice * 22.5, (last + 1) * 22.5);
    slice = last;
  }
  return text.empty() ? "no heading" : text + " degrees";
}

std::string lane_kind_name(const j2735::Lane& lane) {
  constexpr std::array<const char*, 8> names{"vehicle", "crosswalk", "bike",    "sidewalk",
                                             "median",  "striping",  "tracked", "parking"};
  return lane.kind ? names.at(static_cast<std::size_t>(*lane.kind)) : "of a later version";
}

std::string frame_kind_name(const j2735::TravellerFrame& frame) {
  constexpr std::array<const char*, 4> names{"unknown", "advisory", "road sign", "commercial sign"};
  return frame.kind ? names.at(static_cast<std::size_t>(*frame.kind)) : "a kind of a later version";
}

std::string content_kind_name(const j2735::TravellerFrame& frame) {
  constexpr std::array<const char*, 5> names{"advisory", "work zone", "generic sign", "speed limit",
                                             "exit service"};
  return names.at(static_cast<std::size_t>(frame.content));
}

std::string message_id_text(const j2735::TravellerFrame& frame) {
  if (const auto* octets = std::get_if<std::string>(&frame.msg_id)) {
    return "further information " + smi::to_hex(*octets);
  }
  const auto& sign = std::get<j2735::SignId>(frame.msg_id);
  return "road sign at " + place_on_earth(sign.position) + ", seen by " + headings_text(sign.headings);
}

std::string flaw_word(j2735::Flaw::Kind kind) {
  switch (kind) {
    case j2735::Flaw::Kind::truncated:
      return "truncated";
    case j2735::Flaw::Kind::trailing:
      return "octets left over";
    case j2735::Flaw::Kind::too_long:
      return "too long";
    case j2735::Flaw::Kind::malformed:
      return "malformed";
  }
  return "";
}

}  // namespace vergeset::report
