#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "schema/model.h"

namespace vergeset::sim {

/// Status that moves by itself, as on a real unit: what a unit reads is a pure function of its seed,
/// its state and the time, so that a whole fleet in virtual time comes out the same from one seed.
/// Times are milliseconds since 1970-01-01T00:00Z.
enum class Moving {
  still,     ///< stored, and stays until it is SET
  mode,      ///< the mode the unit is in
  channels,  ///< which access to the channels works: none off the air
  satellites,
  latitude,
  longitude,
  elevation,
  sentence,  ///< NMEA 0183 GGA
  deviation,
  position_error,
  temperature,
  seconds_up,   ///< since the last start
  seconds_run,  ///< in the unit's life
  ticks_up,     ///< sysUpTime
  restart_time,
  sent,        ///< messages sent
  received,    ///< messages received
  row_sent,    ///< messages sent that a row of the counting table counts
  row_range,   ///< how far away vehicles were heard
  row_payload  ///< what a running application sends through a row
};

/// By the names of both standards; an agency's own model that keeps a name keeps its movement.
Moving moving_of(const schema::Object& object);

std::uint64_t seed_of(std::string_view unit_name);

/// A place, in degrees WGS 84 and metres.
struct Spot {
  double latitude = 0;
  double longitude = 0;
  double elevation = 0;
};

int satellites(std::uint64_t seed, std::int64_t now);         ///< 7..12
int temperature(std::uint64_t seed, std::int64_t now);        ///< degree C, 18..46
int position_error_dm(std::uint64_t seed, std::int64_t now);  ///< 8..25
/// Within 4 m of the spot, as GNSS finds it.
Spot wander(const Spot& spot, std::uint64_t seed, std::int64_t now);
double metres_between(const Spot& a, const Spot& b);  ///< horizontal

/// "$GPGGA,...*hh"; without a spot a sentence that says "no fix".
std::string gga_sentence(const std::optional<Spot>& spot, int satellites, std::int64_t now);
/// The exclusive or of the characters between $ and * (NMEA 0183).
std::uint8_t nmea_checksum(std::string_view between);

/// DateAndTime of eight octets, UTC (RFC 2579).
std::string date_and_time(std::int64_t now);

}  // namespace vergeset::sim
