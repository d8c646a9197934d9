#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "smi/result.h"

namespace vergeset::smi {

/// How far a clock stands from UTC (RFC 2579, DateAndTime, octets 9 to 11).
struct Offset {
  char direction = '+';
  int hours = 0;
  int minutes = 0;
};

/// A time of the calendar as DateAndTime tells it. Without an offset it is UTC, as both RSU
/// standards want of times without a zone.
struct Moment {
  int year = 0;
  int month = 0;
  int day = 0;
  int hour = 0;
  int minute = 0;
  int second = 0;
  int decisecond = 0;
  std::optional<Offset> offset;
};

/// "2026-11-01T06:00Z", with seconds and a tenth of a second where wanted, Z or an offset.
Result<Moment> moment_from_text(std::string_view text);
std::string moment_text(const Moment& moment);

/// From 6, 8 or 11 octets; nothing where the calendar or the clock has no such time.
std::optional<Moment> moment_from_octets(std::string_view octets);
/// Eight octets, eleven with an offset.
std::string moment_octets(const Moment& moment);

/// What is wrong with the fields, or nothing.
std::optional<std::string> moment_fault(const Moment& moment);

/// The same instant told in UTC; nothing where that leaves the years 0 to 65535.
std::optional<Moment> in_utc(const Moment& moment);

/// Tenths of a second since 1970-01-01T00:00Z. A leap second counts as the second behind it.
std::int64_t deciseconds(const Moment& moment);

}  // namespace vergeset::smi
