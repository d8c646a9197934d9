#pragma once

#include <string>

#include "checks/message.h"
#include "checks/traveller_times.h"

/// What people and machines are told alike of a message.
namespace vergeset::report {

/// "54.9000000, -20.0292440, 6.7 m"
std::string place_on_earth(const j2735::Position& position);
/// "2026-10-12T06:00Z"
std::string minute_text(const j2735::Minute& minute);
/// "headings 67.5 to 112.5, 247.5 to 292.5 degrees", of a HeadingSlice.
std::string headings_text(unsigned slices);
std::string lane_kind_name(const j2735::Lane& lane);
std::string frame_kind_name(const j2735::TravellerFrame& frame);
std::string content_kind_name(const j2735::TravellerFrame& frame);
std::string message_id_text(const j2735::TravellerFrame& frame);
std::string flaw_word(j2735::Flaw::Kind kind);

}  // namespace vergeset::report
