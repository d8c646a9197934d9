#pragma once

#include <chrono>
#include <optional>
#include <string>

#include "checks/traveller_message.h"

/// When traveller information holds, on the calendar.
namespace vergeset::j2735 {

using Minute = std::chrono::sys_time<std::chrono::minutes>;

/// A minute of a year (MinuteOfTheYear: 0 is the first of January, 00:00 UTC); nothing where either is not
/// known.
std::optional<Minute> minute_of_year(std::optional<int> year, std::optional<int> minute);

struct Holds {
  std::optional<Minute> from;   ///< nothing where the message does not say
  std::optional<Minute> until;  ///< nothing where it does not end by itself, or its start is not known
  bool for_ever = false;
};
Holds holds(const TravellerFrame& frame);

/// "2026-10-12T06:00Z", of any year that a message may name (and a clock of nanoseconds has not).
std::string calendar_text(std::chrono::sys_seconds time);

}  // namespace vergeset::j2735
