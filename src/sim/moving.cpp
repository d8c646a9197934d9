#include "sim/moving.h"

#include <fmt/format.h>

#include <chrono>
#include <cmath>
#include <map>
#include <numbers>

namespace vergeset::sim {

namespace {

constexpr double metres_in_degree = 111320.0;
constexpr std::int64_t step_ms = 10000;  ///< how long a reading stays

/// splitmix64: one well mixed number for a number.
std::uint64_t mix(std::uint64_t x) {
  x += 0x9e3779b97f4a7c15U;
  x = (x ^ (x >> 30U)) * 0xbf58476d1ce4e5b9U;
  x = (x ^ (x >> 27U)) * 0x94d049bb133111ebU;
  return x ^ (x >> 31U);
}

/// low..high, one for each seed, sense and step of time.
int reading(std::uint64_t seed, std::uint64_t sense, std::int64_t now, int low, int high) {
  const auto drawn = mix(seed ^ mix(sense ^ mix(static_cast<std::uint64_t>(now / step_ms))));
  return low + static_cast<int>(drawn % static_cast<std::uint64_t>(high - low + 1));
}

std::string minutes_of_arc(double degrees, int width, char positive, char negative) {
  const double size = std::abs(degrees);
  const auto ten_thousandths = static_cast<std::int64_t>(std::llround(size * 60 * 10000));
  const auto whole = ten_thousandths / 600000;
  const auto rest = ten_thousandths % 600000;
  return fmt::format("{:0{}}{:02}.{:04},{}", whole, width, rest / 10000, rest % 10000,
                     degrees < 0 ? negative : positive);
}

}  // namespace

Moving moving_of(const schema::Object& object) {
  static const std::map<std::string, Moving, std::less<>> known{
      {"rsuChanStatus", Moving::channels},
      {"rsuGnssStatus", Moving::satellites},
      {"rsuGpsStatus", Moving::satellites},
      {"rsuGnssLat", Moving::latitude},
      {"rsuGnssLon", Moving::longitude},
      {"rsuGnssElv", Moving::elevation},
      {"rsuGnssOutputString", Moving::sentence},
      {"rsuGpsOutputString", Moving::sentence},
      {"rsuLocationDeviation", Moving::deviation},
      {"rsuGnssPositionError", Moving::position_error},
      {"rsuIntTemp", Moving::temperature},
      {"rsuTimeSincePowerOn", Moving::seconds_up},
      {"rsuTotalRunTime", Moving::seconds_run},
      {"sysUpTime", Moving::ticks_up},
      {"rsuLastRestartTime", Moving::restart_time},
      {"rsuContCchMsgSent", Moving::sent},
      {"rsuContCchMsgRcvd", Moving::received},
      {"rsuMessageCountsByPsidCounts", Moving::row_sent},
      {"rsuCommRange1Min", Moving::row_range},
      {"rsuCommRange5Min", Moving::row_range},
      {"rsuCommRange15Min", Moving::row_range},
      {"rsuCommRangeAvg1Min", Moving::row_range},
      {"rsuCommRangeAvg5Min", Moving::row_range},
      {"rsuCommRangeAvg15Min", Moving::row_range},
      {"rsuIFMPayload", Moving::row_payload},
  };
  const auto found = known.find(object.name);
  return found == known.end() ? Moving::still : found->second;
}

std::uint64_t seed_of(std::string_view unit_name) {
  std::uint64_t seed = 0xcbf29ce484222325U;  // FNV-1a
  for (const char c : unit_name) seed = (seed ^ static_cast<unsigned char>(c)) * 0x100000001b3U;
  return mix(seed);
}

int satellites(std::uint64_t seed, std::int64_t now) {
  return reading(seed, 1, now, 7, 12);
}

int temperature(std::uint64_t seed, std::int64_t now) {
  const int unit_own = reading(seed, 2, 0, 20, 42);
  return unit_own + reading(seed, 3, now / 6, -2, 4);
}

int position_error_dm(std::uint64_t seed, std::int64_t now) {
  return reading(seed, 4, now, 8, 25);
}

Spot wander(const Spot& spot, std::uint64_t seed, std::int64_t now) {
  const double north = reading(seed, 5, now, -25, 25) / 10.0;
  const double east = reading(seed, 6, now, -25, 25) / 10.0;
  const double up = reading(seed, 7, now, -30, 30) / 10.0;
  const double shrink = std::max(0.01, std::cos(spot.latitude * std::numbers::pi / 180));
  return {spot.latitude + north / metres_in_degree, spot.longitude + east / (metres_in_degree * shrink),
          spot.elevation + up};
}

double metres_between(const Spot& a, const Spot& b) {
  const double shrink = std::cos((a.latitude + b.latitude) / 2 * std::numbers::pi / 180);
  return metres_in_degree * std::hypot(a.latitude - b.latitude, (a.longitude - b.longitude) * shrink);
}

std::uint8_t nmea_checksum(std::string_view between) {
  std::uint8_t sum = 0;
  for (const char c : between) sum = static_cast<std::uint8_t>(sum ^ static_cast<unsigned char>(c));
  return sum;
}

std::string gga_sentence(const std::optional<Spot>& spot, int satellites_used, std::int64_t now) {
  constexpr std::int64_t day = std::int64_t{24} * 3600 * 1000;
  const std::int64_t ms = ((now % day) + day) % day;
  const std::string clock =
      fmt::format("{:02}{:02}{:02}.{:02}", ms / 3600000, ms / 60000 % 60, ms / 1000 % 60, ms / 10 % 100);
  const std::string body =
      spot ? fmt::format("GPGGA,{},{},{},1,{:02},0.9,{:.1f},M,47.0,M,,", clock,
                         minutes_of_arc(spot->latitude, 2, 'N', 'S'),
                         minutes_of_arc(spot->longitude, 3, 'E', 'W'), satellites_used, spot->elevation)
           : fmt::format("GPGGA,{},,,,,0,{:02},,,M,,M,,", clock, satellites_used);
  return fmt::format("${}*{:02X}", body, nmea_checksum(body));
}

std::string date_and_time(std::int64_t now) {
  using namespace std::chrono;
  const sys_time<milliseconds> instant{milliseconds{now}};
  const auto day = floor<days>(instant);
  const year_month_day date{day};
  const hh_mm_ss clock{instant - day};
  const int year = static_cast<int>(date.year());
  const auto octet = [](auto number) { return static_cast<char>(static_cast<unsigned char>(number)); };
  return {octet(year / 256),
          octet(year % 256),
          octet(static_cast<unsigned>(date.month())),
          octet(static_cast<unsigned>(date.day())),
          octet(clock.hours().count()),
          octet(clock.minutes().count()),
          octet(clock.seconds().count()),
          octet(clock.subseconds().count() / 100)};
}

}  // namespace vergeset::sim
