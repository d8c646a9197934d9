#include "checks/gga.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <vector>

namespace vergeset::checks {

namespace {

/// All of the text, which is to be a number without exponent, as sentences have them.
std::optional<double> decimal(std::string_view text) {
  double number = 0;
  const char* const end = text.data() + text.size();
  const auto [rest, error] = std::from_chars(text.data(), end, number, std::chars_format::fixed);
  if (error != std::errc() || rest != end || !std::isfinite(number)) return std::nullopt;
  return number;
}

std::optional<int> whole(std::string_view text, int base) {
  int number = 0;
  const char* const end = text.data() + text.size();
  const auto [rest, error] = std::from_chars(text.data(), end, number, base);
  if (error != std::errc() || rest != end || number < 0) return std::nullopt;
  return number;
}

/// Between $ and *, where the two digits behind say so.
std::optional<std::string_view> checked_body(std::string_view text) {
  const auto start = text.find('$');
  const auto star = text.find('*');
  if (start == std::string_view::npos || star == std::string_view::npos || star < start) return std::nullopt;
  const std::string_view body = text.substr(start + 1, star - start - 1);
  int sum = 0;
  for (const char c : body) sum ^= static_cast<std::uint8_t>(c);
  return whole(text.substr(star + 1, 2), 16) == sum ? std::optional(body) : std::nullopt;
}

std::vector<std::string_view> fields_of(std::string_view body) {
  std::vector<std::string_view> fields;
  for (std::size_t from = 0; from <= body.size();) {
    const std::size_t comma = std::min(body.find(',', from), body.size());
    fields.push_back(body.substr(from, comma - from));
    from = comma + 1;
  }
  return fields;
}

/// "ddmm.mmmm" and a hemisphere, as degrees.
std::optional<double> degrees(std::string_view text, std::string_view hemisphere, std::string_view two,
                              double most) {
  const auto number = decimal(text);
  const bool known = hemisphere.size() == 1 && two.find(hemisphere) != std::string_view::npos;
  if (!number || !known || *number < 0) return std::nullopt;
  const double whole_degrees = std::floor(*number / 100);
  const double minutes = *number - whole_degrees * 100;
  const double all = whole_degrees + minutes / 60;
  if (minutes >= 60 || all > most) return std::nullopt;
  return hemisphere.front() == two.front() ? all : -all;
}

/// A length in metres, where the field behind says that it is one.
std::optional<double> metres(const std::vector<std::string_view>& fields, std::size_t at) {
  if (at + 1 >= fields.size() || fields[at + 1] != "M") return std::nullopt;
  return decimal(fields[at]);
}

}  // namespace

std::optional<Gga> parse_gga(std::string_view text) {
  const auto body = checked_body(text);
  if (!body) return std::nullopt;
  const std::vector<std::string_view> fields = fields_of(*body);
  if (fields.size() < 8 || fields[0].size() != 5 || fields[0].substr(2) != "GGA") return std::nullopt;
  Gga gga;
  gga.quality = fields[6].empty() ? 0 : whole(fields[6], 10).value_or(-1);
  if (gga.quality < 0) return std::nullopt;
  gga.satellites = whole(fields[7], 10);
  if (gga.quality == 0) return gga;
  const auto latitude = degrees(fields[2], fields[3], "NS", 90);
  const auto longitude = degrees(fields[4], fields[5], "EW", 180);
  if (!latitude || !longitude) return std::nullopt;
  gga.at = Point{*latitude, *longitude};
  gga.altitude = metres(fields, 9);
  gga.separation = metres(fields, 11);
  return gga;
}

}  // namespace vergeset::checks
