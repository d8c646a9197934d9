#include "records/clock.h"

#include <fmt/chrono.h>

#include <chrono>
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
  return fmt::format("{:%Y-%m-%dT%H:%M:%S}.{:03}Z", utc(milliseconds), milliseconds % 1000);
}

std::string file_stamp(std::int64_t milliseconds) {
  return fmt::format("{:%Y-%m-%dT%H-%M-%S}Z", utc(milliseconds));
}

}  // namespace vergeset::records
