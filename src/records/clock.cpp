#include "records/clock.h"

#include <fmt/chrono.h>

#include <chrono>
#include <cstdio>
#include <ctime>

namespace vergeset::records {

namespace {

std::tm utc(std::int64_t milliseconds) {
  const auto seconds = static_cast<std::time_t>(milliseconds / 1000);
  std::tm parts{};
  gmtime_r(&seconds, &parts);
  return parts;
}

}  // namespace

std::int64_t SystemClock::now() const {
  using namespace std::chrono;
  return duration_cast<milliseconds>(system_clock::now().time_since_epoch()).count();
}

std::string stamp(std::int64_t milliseconds) {
  const std::tm at = utc(milliseconds);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}Z", at.tm_year + 1900, at.tm_mon + 1,
                     at.tm_mday, at.tm_hour, at.tm_min, at.tm_sec, milliseconds % 1000);
}

std::string file_stamp(std::int64_t milliseconds) {
  return fmt::format("{:%Y-%m-%dT%H-%M-%S}Z", utc(milliseconds));
}

std::optional<std::int64_t> milliseconds_of(const std::string& text) {
  std::tm parts{};
  const char* const rest = strptime(text.c_str(), "%Y-%m-%dT%H:%M:%S", &parts);
  if (rest == nullptr) return std::nullopt;
  const std::int64_t seconds = timegm(&parts);
  int thousandths = 0;
  if (std::sscanf(rest, ".%3dZ", &thousandths) != 1) return std::nullopt;
  const std::int64_t milliseconds = seconds * 1000 + thousandths;
  // Only what `stamp` writes: no other spelling, nothing behind it, no thirtieth of February.
  return stamp(milliseconds) == text ? std::optional(milliseconds) : std::nullopt;
}

}  // namespace vergeset::records
