// A payload's MessageFrame in UPER, as a file or a unit has it.
//
// About: src/checks/uper.cpp src/checks/message.cpp src/checks/message_parts.cpp src/checks/map_message.cpp
// About: src/checks/signal_message.cpp src/checks/traveller_message.cpp src/checks/lane_shape.cpp

#include <cmath>

#include "checks/lane_shape.h"
#include "checks/message.h"
#include "fuzz/fuzz.h"

using namespace vergeset;

namespace {

void shapes_end(const j2735::Intersection& at) {
  for (const j2735::Lane& lane : at.lanes) {
    const j2735::LaneShape shape = j2735::shape_of(at, lane);
    fuzz::must(shape.points.empty() != shape.why.empty(), "a lane has a shape, or it says why not");
    fuzz::must(std::isfinite(shape.length) && shape.length >= 0, "a lane has a length");
  }
}

}  // namespace

FUZZ_TARGET(j2735) {
  const j2735::Message message = j2735::read_message(input);
  for (const j2735::Flaw& flaw : message.flaws) fuzz::must_explain(flaw.text);
  fuzz::must(message.octets == input.size(), "a payload has the octets that it has");
  fuzz::must(message.id || !message.flaws.empty() || !message.envelope.empty(),
             "what has no kind says why not");
  if (const auto* map = message.map()) {
    for (const j2735::Intersection& at : map->intersections) shapes_end(at);
    for (const j2735::Intersection& at : map->segments) shapes_end(at);
  }
  // What is whole is so no longer without its last octet.
  if (message.flaws.empty() && message.content.index() != 0 && message.envelope.empty()) {
    const j2735::Message cut = j2735::read_message(input.substr(0, input.size() - 1));
    fuzz::must(!cut.flaws.empty(), "a message that lacks its last octet is told");
  }
}
