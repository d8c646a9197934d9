#include "checks/traveller_times.h"

#include <fmt/format.h>

namespace vergeset::j2735 {

std::optional<Minute> minute_of_year(std::optional<int> year, std::optional<int> minute) {
  // DYear: 0 is not known; MinuteOfTheYear: 527040, a minute that not even leap years have, is not known.
  if (!year || *year == 0 || !minute || *minute == most_minute) return std::nullopt;
  const std::chrono::sys_days first(std::chrono::year(*year) / std::chrono::January / 1);
  return Minute(first) + std::chrono::minutes(*minute);
}

Holds holds(const TravellerFrame& frame) {
  Holds times;
  times.for_ever = frame.duration == lasts_for_ever;
  times.from = minute_of_year(frame.year, frame.minute);
  if (times.from && !times.for_ever) times.until = *times.from + std::chrono::minutes(frame.duration);
  return times;
}

std::string calendar_text(std::chrono::sys_seconds time) {
  const auto day = std::chrono::floor<std::chrono::days>(time);
  const std::chrono::year_month_day date(day);
  const std::chrono::hh_mm_ss clock(time - day);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}Z", static_cast<int>(date.year()),
                     static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()),
                     clock.hours().count(), clock.minutes().count());
}

}  // namespace vergeset::j2735
