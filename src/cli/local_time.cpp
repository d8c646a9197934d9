#include "cli/local_time.h"

#include <fmt/format.h>

#include <cstdlib>
#include <ctime>

#include "records/clock.h"

namespace vergeset::cli {

namespace {

std::tm clocks_at(std::int64_t milliseconds, const std::string& timezone) {
  setenv("TZ", timezone.c_str(), 1);
  tzset();
  const auto seconds = static_cast<std::time_t>(milliseconds / 1000);
  std::tm parts{};
  localtime_r(&seconds, &parts);
  return parts;
}

}  // namespace

std::int64_t night_of(std::int64_t milliseconds, const std::string& timezone) {
  using namespace std::chrono;
  const std::tm parts = clocks_at(milliseconds, timezone);
  const sys_days day = year(parts.tm_year + 1900) / (parts.tm_mon + 1) / parts.tm_mday;
  return day.time_since_epoch().count() + (parts.tm_hour >= 12 ? 1 : 0);
}

LocalTime local_time(std::int64_t milliseconds, const std::string& timezone) {
  const std::tm parts = clocks_at(milliseconds, timezone);
  return {parts.tm_wday, parts.tm_hour * 60 + parts.tm_min};
}

std::string closed_window(const fleet::Fleet& fleet, std::int64_t milliseconds) {
  if (fleet.window.spans.empty()) return {};
  const LocalTime now = local_time(milliseconds, fleet.timezone);
  if (fleet.window.open(now.weekday, now.minute)) return {};
  static constexpr const char* days[] = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  return fmt::format(
      "the maintenance window is closed ({}; now {} {:02}:{:02}, {}); wait for it, or add "
      "--outside-window",
      fleet.window.text, days[now.weekday], now.minute / 60, now.minute % 60, fleet.timezone);
}

std::chrono::sys_seconds this_second() {
  return std::chrono::sys_seconds(std::chrono::seconds(records::SystemClock().now() / 1000));
}

}  // namespace vergeset::cli
