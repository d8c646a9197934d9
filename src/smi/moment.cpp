#include "smi/moment.h"

#include <fmt/format.h>

#include <array>

#include "smi/octet.h"

namespace vergeset::smi {

namespace {

constexpr int last_year = 65535;
constexpr std::int64_t minutes_an_hour = 60;
constexpr std::int64_t minutes_a_day = 24 * minutes_an_hour;
constexpr std::int64_t days_of_400_years = 146097;
constexpr std::int64_t days_before_1970 = 719468;  // from 0000-03-01

bool leap(int year) {
  return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

int days_of(int year, int month) {
  constexpr std::array days{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return month == 2 && leap(year) ? 29 : days[static_cast<std::size_t>(month - 1)];
}

/// Days since 1970-01-01 in the Gregorian calendar. std::chrono's calendar ends at year 32767,
/// DateAndTime at 65535. Years are counted from March, so that the leap day comes last.
std::int64_t days_since_1970(int year, int month, int day) {
  const std::int64_t years = month > 2 ? year : year - 1;
  const std::int64_t era = (years >= 0 ? years : years - 399) / 400;
  const std::int64_t year_of_era = years - era * 400;
  const std::int64_t months_from_march = (month + 9) % 12;
  const std::int64_t day_of_year = (153 * months_from_march + 2) / 5 + day - 1;
  const std::int64_t day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
  return era * days_of_400_years + day_of_era - days_before_1970;
}

std::int64_t utc_minutes(const Moment& moment) {
  std::int64_t minutes = days_since_1970(moment.year, moment.month, moment.day) * minutes_a_day +
                         moment.hour * minutes_an_hour + moment.minute;
  if (moment.offset) {
    const int away = moment.offset->hours * 60 + moment.offset->minutes;
    minutes += moment.offset->direction == '-' ? away : -away;
  }
  return minutes;
}

/// Puts the clock back or forward by less than two days, one day of the calendar at a time.
void shift(Moment& moment, std::int64_t minutes) {
  std::int64_t clock = moment.hour * 60 + moment.minute + minutes;
  for (; clock < 0; clock += minutes_a_day) {
    if (--moment.day > 0) continue;
    if (--moment.month == 0) {
      moment.month = 12;
      --moment.year;
    }
    moment.day = days_of(moment.year, moment.month);
  }
  for (; clock >= minutes_a_day; clock -= minutes_a_day) {
    if (++moment.day <= days_of(moment.year, moment.month)) continue;
    moment.day = 1;
    if (++moment.month > 12) {
      moment.month = 1;
      ++moment.year;
    }
  }
  moment.hour = static_cast<int>(clock / 60);
  moment.minute = static_cast<int>(clock % 60);
}

}  // namespace

std::optional<std::string> moment_fault(const Moment& moment) {
  const auto outside = [](int number, int low, int high) { return number < low || number > high; };
  if (outside(moment.year, 0, last_year)) return fmt::format("year {} is above {}", moment.year, last_year);
  if (outside(moment.month, 1, 12)) return fmt::format("there is no month {}", moment.month);
  if (outside(moment.day, 1, days_of(moment.year, moment.month)))
    return fmt::format("month {:04}-{:02} has no day {}", moment.year, moment.month, moment.day);
  if (outside(moment.hour, 0, 23)) return fmt::format("there is no hour {}", moment.hour);
  if (outside(moment.minute, 0, 59)) return fmt::format("there is no minute {}", moment.minute);
  // RFC 2579: 60 for a leap second
  if (outside(moment.second, 0, 60)) return fmt::format("there is no second {}", moment.second);
  if (outside(moment.decisecond, 0, 9)) return fmt::format("there is no decisecond {}", moment.decisecond);
  if (!moment.offset) return std::nullopt;
  const Offset& offset = *moment.offset;
  const bool signed_well = offset.direction == '+' || offset.direction == '-';
  if (!signed_well || outside(offset.hours, 0, 13) || outside(offset.minutes, 0, 59))
    return std::string("an offset is + or - and at most 13:59 (RFC 2579)");
  return std::nullopt;
}

std::optional<Moment> moment_from_octets(std::string_view octets) {
  if (octets.size() != 6 && octets.size() != 8 && octets.size() != 11) return std::nullopt;
  const auto at = [&](std::size_t place) { return static_cast<int>(octet_at(octets, place)); };
  Moment moment{at(0) * 256 + at(1), at(2), at(3), at(4), at(5), 0, 0, {}};
  if (octets.size() >= 8) {
    moment.second = at(6);
    moment.decisecond = at(7);
  }
  if (octets.size() == 11) moment.offset = Offset{octets[8], at(9), at(10)};
  if (moment_fault(moment)) return std::nullopt;
  return moment;
}

std::string moment_octets(const Moment& moment) {
  std::string octets{octet(moment.year / 256), octet(moment.year),      octet(moment.month),
                     octet(moment.day),        octet(moment.hour),      octet(moment.minute),
                     octet(moment.second),     octet(moment.decisecond)};
  if (moment.offset)
    octets += {moment.offset->direction, octet(moment.offset->hours), octet(moment.offset->minutes)};
  return octets;
}

std::optional<Moment> in_utc(const Moment& moment) {
  Moment utc = moment;
  utc.offset.reset();
  const std::int64_t midnight = days_since_1970(moment.year, moment.month, moment.day) * minutes_a_day;
  shift(utc, utc_minutes(moment) - midnight - moment.hour * minutes_an_hour - moment.minute);
  if (moment_fault(utc)) return std::nullopt;
  return utc;
}

std::int64_t deciseconds(const Moment& moment) {
  return (utc_minutes(moment) * 60 + moment.second) * 10 + moment.decisecond;
}

}  // namespace vergeset::smi
