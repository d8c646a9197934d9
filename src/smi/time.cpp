#include <fmt/format.h>

#include "smi/codecs.h"
#include "smi/moment.h"
#include "smi/octet.h"
#include "smi/words.h"

namespace vergeset::smi {

Result<std::string> date_time_octets(std::string_view word) {
  const auto moment = moment_from_text(word);
  if (!moment) return Problem{moment.problem()};
  return moment_octets(*moment);
}

Result<std::string> minute_stamp_octets(std::string_view word) {
  const auto moment = moment_from_text(word);
  if (!moment) return Problem{moment.problem()};
  if (moment->second != 0 || moment->decisecond != 0)
    return Problem{
        fmt::format("expected a time to the minute, found {}: leave the seconds out", shown(word))};
  const auto utc = in_utc(*moment);
  if (!utc) return Problem{fmt::format("{} is in no year from 0 to 65535 in UTC", shown(word))};
  return moment_octets(*utc).substr(0, 6);
}

std::optional<std::string> other_length(std::string_view date_time) {
  auto moment = moment_from_octets(date_time);
  if (!moment) return std::nullopt;
  if (moment->offset)
    moment = in_utc(*moment);
  else
    moment->offset = Offset{};
  if (!moment) return std::nullopt;
  return moment_octets(*moment);
}

std::optional<std::string> date_time_text(std::string_view octets) {
  const auto moment = moment_from_octets(octets);
  if (!moment) return std::nullopt;
  return moment_text(*moment);
}

bool no_time(std::string_view octets) {
  const std::size_t size = octets.size();
  const bool length = size == 0 || size == 6 || size == 8 || size == 11;
  return length && without_trailing(octets, '\0').empty();
}

std::optional<std::int64_t> instant_of(std::string_view octets) {
  const auto moment = moment_from_octets(octets);
  if (!moment) return std::nullopt;
  return deciseconds(*moment);
}

Result<std::string> time_of_day_octets(std::string_view word) {
  const Problem wrong{fmt::format("expected a time of day such as 23:59:00 or 23:59, found {}", shown(word))};
  if (word.size() != 5 && word.size() != 8) return wrong;
  std::string octets;
  for (std::size_t at = 0; at < word.size(); at += 3) {
    if (at > 0 && word[at - 1] != ':') return wrong;
    int number = 0;
    for (const char letter : word.substr(at, 2)) {
      if (letter < '0' || letter > '9') return wrong;
      number = number * 10 + (letter - '0');
    }
    octets += octet(number);
  }
  octets.resize(3);
  if (!time_of_day_text(octets)) return wrong;
  return octets;
}

std::optional<std::string> time_of_day_text(std::string_view octets) {
  if (octets.size() != 3 || octet_at(octets, 0) > 23 || octet_at(octets, 1) > 59 || octet_at(octets, 2) > 59)
    return std::nullopt;
  return fmt::format("{:02}:{:02}:{:02}", octet_at(octets, 0), octet_at(octets, 1), octet_at(octets, 2));
}

}  // namespace vergeset::smi
