#pragma once

#include <chrono>
#include <cstdint>
#include <string>

#include "fleet/fleet.h"

namespace vergeset::cli {

/// Day and minute on the clocks of a time zone.
struct LocalTime {
  int weekday = 0;  ///< 0 Sunday
  int minute = 0;   ///< after midnight
};

/// `milliseconds` since 1970 in an IANA time zone. Sets TZ of this process for good: nothing else in
/// it asks for local time.
LocalTime local_time(std::int64_t milliseconds, const std::string& timezone);

/// The night that a time lies in (report/standing.h): from noon to noon on the clocks of the zone, named by
/// the day of its morning and counted in days since 1970-01-01.
std::int64_t night_of(std::int64_t milliseconds, const std::string& timezone);

/// Empty where the fleet's maintenance window is open, otherwise why nothing may be changed now.
std::string closed_window(const fleet::Fleet& fleet, std::int64_t milliseconds);

/// What times in files are held against.
std::chrono::sys_seconds this_second();

}  // namespace vergeset::cli
