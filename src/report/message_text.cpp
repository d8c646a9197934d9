#include "report/message_text.h"

#include <fmt/format.h>

#include <array>

#include "checks/lane_shape.h"
#include "report/message_words.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using j2735::Intersection;
using j2735::Lane;

/// A minute of a year that the message does not name.
std::string yearless_text(int minute) {
  if (minute == j2735::most_minute) return "not known";
  return fmt::format("minute {} of a year that it does not name", minute);
}

std::string reference_text(const j2735::Reference& id) {
  return id.region ? fmt::format("{} of region {}", id.id, *id.region) : fmt::format("{}", id.id);
}

std::string named(const std::string& what, const std::string& name) {
  return name.empty() ? what : what + " \"" + name + "\"";
}

std::string maneuver_words(unsigned maneuvers) {
  std::string words;
  for (const auto& [bit, word] : {std::pair{j2735::maneuver_left, "left"},
                                  {j2735::maneuver_straight, "straight"},
                                  {j2735::maneuver_right, "right"},
                                  {j2735::maneuver_u_turn, "u-turn"}}) {
    if ((maneuvers & bit) != 0) words += (words.empty() ? "" : "/") + std::string(word);
  }
  return words;
}

std::string connection_text(const j2735::Connection& to) {
  std::string text = to.maneuvers ? maneuver_words(*to.maneuvers) : "";
  text += (text.empty() ? "to " : " to ") + std::to_string(to.lane);
  if (to.remote) text += fmt::format(" of intersection {}", reference_text(*to.remote));
  if (to.signal_group) text += fmt::format(" (signal {})", *to.signal_group);
  return text;
}

std::string connections_text(const Lane& lane) {
  std::string text;
  for (const j2735::Connection& to : lane.connections)
    text += (text.empty() ? "" : ", ") + connection_text(to);
  if (text.empty() && lane.maneuvers) text = maneuver_words(*lane.maneuvers);
  return text;
}

std::string approach_text(const Lane& lane) {
  std::string text;
  if (lane.ingress) text = "in";
  if (lane.egress) text += text.empty() ? "out" : " and out";
  if (text.empty()) text = "none";
  if (lane.ingress_approach) text += fmt::format(" {}", *lane.ingress_approach);
  if (lane.egress_approach && lane.egress_approach != lane.ingress_approach) {
    text += fmt::format("{}{}", lane.ingress_approach ? "/" : " ", *lane.egress_approach);
  }
  return text;
}

std::string place_text(const Screen& screen, const std::string& what, const Intersection& at) {
  std::string out =
      bold(screen, printable(named(fmt::format("{} {}", what, reference_text(at.id)), at.name))) + "\n";
  Table facts(2);
  facts.add({"revision", std::to_string(at.revision)});
  facts.add({"reference point", place_on_earth(at.position)});
  if (at.lane_width) facts.add({"lane width", fmt::format("{:.2f} m", *at.lane_width / 100.0)});
  out += facts.text(screen) + "\n";
  Table lanes(2, {"lane", "approach", "kind", "length", "nodes", "connections"});
  std::string without;
  for (const Lane& lane : at.lanes) {
    const j2735::LaneShape shape = j2735::shape_of(at, lane);
    const std::string nodes =
        lane.computed ? fmt::format("as lane {}", lane.computed->lane) : std::to_string(lane.nodes.size());
    lanes.add({named(std::to_string(lane.id), lane.name), approach_text(lane), lane_kind_name(lane),
               shape.why.empty() ? fmt::format("{:.0f} m", shape.length) : "not known", nodes,
               connections_text(lane)});
    if (!shape.why.empty()) {
      without += paragraph(screen, fmt::format("lane {} has no length: {}", lane.id, shape.why), 2);
    }
  }
  return out + lanes.text(screen) + without;
}

std::string map_text(const Screen& screen, const j2735::Map& map) {
  Table facts(2);
  facts.add({"message revision", std::to_string(map.revision)});
  if (map.minute) facts.add({"made", yearless_text(*map.minute)});
  std::string out = facts.text(screen);
  if (map.intersections.empty() && map.segments.empty()) out += "  It names no intersection.\n";
  for (const Intersection& at : map.intersections) out += "\n" + place_text(screen, "intersection", at);
  for (const Intersection& at : map.segments) out += "\n" + place_text(screen, "road segment", at);
  return out;
}

std::string spat_text(const Screen& screen, const j2735::Spat& spat) {
  std::string out;
  if (!spat.name.empty()) out += paragraph(screen, "It is called \"" + spat.name + "\".", 2);
  Table table(2, {"intersection", "name", "MAP revision", "states", "time stamp"});
  for (const j2735::SignalState& at : spat.intersections) {
    std::string stamp = at.minute ? fmt::format("minute {} of the year", *at.minute) : "";
    // DSecond: 65535 is not known.
    if (at.millisecond && *at.millisecond != 65'535) {
      stamp += fmt::format("{}{:.3f} s", stamp.empty() ? "" : ", ", *at.millisecond / 1000.0);
    }
    table.add({reference_text(at.id), at.name, std::to_string(at.revision), std::to_string(at.states),
               stamp.empty() ? "none" : stamp});
  }
  if (spat.minute) out += paragraph(screen, "Made in " + yearless_text(*spat.minute) + ".", 2);
  return out + table.text(screen);
}

/// Those codes of SAE J2540-2 that signs with a speed are made of (from memory; 12569 and 8720 agree with a
/// published message, tests/payload).
std::string itis_text(int code) {
  constexpr int number_zero = 12'544;
  if (code > number_zero && code < number_zero + 256) {
    return fmt::format("{} (number {})", code, code - number_zero);
  }
  if (code == 268) return "268 (speed limit)";
  if (code == 1025) return "1025 (road construction)";
  if (code == 8720) return "8720 (mph)";
  return std::to_string(code);
}

std::string phrases_text(const j2735::TravellerFrame& frame) {
  std::string text;
  for (const j2735::Phrase& phrase : frame.phrases) {
    const int* code = std::get_if<int>(&phrase);
    text += text.empty() ? "" : ", ";
    text += code != nullptr ? itis_text(*code) : "\"" + std::get<std::string>(phrase) + "\"";
  }
  return text;
}

std::string region_text(const j2735::Region& region) {
  constexpr std::array<const char*, 8> units{"cm", "x 2.5 cm", "dm", "m", "km", "ft", "yd", "mi"};
  std::string text = region.name.empty() ? "" : "\"" + region.name + "\": ";
  if (region.circle) {
    text += fmt::format("circle of {} {} around {}", region.circle->radius, units.at(region.circle->unit),
                        place_on_earth(region.circle->centre));
    if (region.anchor) text += fmt::format("; anchor {}", place_on_earth(*region.anchor));
  } else {
    const std::size_t points = region.path.nodes.size() + region.degree_path.size();
    text += region.path.computed ? "path computed from a lane"
                                 : fmt::format("path of {}", counted(points, "point"));
    if (region.anchor) text += fmt::format(" from {}", place_on_earth(*region.anchor));
  }
  if (region.lane_width) text += fmt::format("; {:.1f} m wide", *region.lane_width / 100.0);
  if (region.headings) text += "; " + headings_text(*region.headings);
  return text;
}

std::string frame_text(const Screen& screen, const j2735::TravellerFrame& frame, std::size_t number,
                       std::size_t of) {
  const j2735::Holds times = j2735::holds(frame);
  Table facts(2);
  facts.add({"kind", frame_kind_name(frame) + ", " + content_kind_name(frame)});
  facts.add({"from", times.from ? minute_text(*times.from) : yearless_text(frame.minute)});
  facts.add({"until", times.for_ever ? "told otherwise"
                      : times.until  ? minute_text(*times.until)
                                     : fmt::format("{} minutes later", frame.duration)});
  facts.add({"priority", std::to_string(frame.priority)});
  facts.add({"id", message_id_text(frame)});
  for (const j2735::Region& region : frame.regions) facts.add({"where", region_text(region)});
  facts.add({"says", phrases_text(frame)});
  if (!frame.url.empty()) facts.add({"url", frame.url});
  return bold(screen, fmt::format("packet {} of {}", number, of)) + "\n" + facts.text(screen);
}

std::string traveller_text(const Screen& screen, const j2735::Traveller& message) {
  Table facts(2);
  facts.add({"message count", std::to_string(message.count)});
  if (message.minute) facts.add({"made", yearless_text(*message.minute)});
  if (message.packet) facts.add({"packet id", smi::to_hex(*message.packet)});
  if (!message.url.empty()) facts.add({"url", message.url});
  std::string out = facts.text(screen);
  for (std::size_t i = 0; i < message.frames.size(); ++i) {
    out += "\n" + frame_text(screen, message.frames[i], i + 1, message.frames.size());
  }
  return out;
}

std::string head_text(const Screen& screen, const j2735::Message& message) {
  std::string kind = message.id ? j2735::message_kind_name(*message.id) : "a payload";
  kind = bold(screen, printable(kind)) + ", " + counted(message.octets, "octet");
  if (!message.envelope.empty()) kind += ", within " + message.envelope;
  if (message.flaws.empty() && message.content.index() != 0) kind += ", whole";
  std::string out = kind + "\n";
  for (const j2735::Flaw& flaw : message.flaws) {
    out += paragraph(screen, flaw_word(flaw.kind) + ": " + flaw.text, 2);
  }
  if (message.id && message.content.index() == 0 && message.flaws.empty())
    out += "  It is not read beyond its kind.\n";
  if (!message.id && !message.envelope.empty()) out += "  What is within is not read.\n";
  return out;
}

}  // namespace

std::string message_text(const Screen& screen, const j2735::Message& message) {
  std::string out = head_text(screen, message);
  if (const auto* map = message.map()) out += map_text(screen, *map);
  if (const auto* spat = message.spat()) out += spat_text(screen, *spat);
  if (const auto* traveller = message.traveller()) out += traveller_text(screen, *traveller);
  return out;
}

}  // namespace vergeset::report
