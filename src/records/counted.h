#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace vergeset::records {

/// What an audit keeps of a unit for the next one to compare with: a counter alone says little, two of them
/// with the time between say whether it moves.
struct Counted {
  std::int64_t taken = 0;                     ///< when it was read, milliseconds since 1970; 0: never
  std::optional<std::int64_t> up;             ///< seconds since power on
  std::map<std::string, std::uint32_t> sent;  ///< counters of messages that were due then, by instance
  std::vector<std::int64_t>
      restarts;  ///< when audits noticed that it had started anew, as above, oldest first
  bool operator==(const Counted&) const = default;
};

/// Where an audit found a unit.
struct FoundAt {
  std::optional<double> latitude;  ///< degrees WGS 84
  std::optional<double> longitude;
  std::optional<double> height;   ///< m, as the unit counts it
  std::optional<double> away;     ///< m from its surveyed position
  std::optional<double> bearing;  ///< from there, degrees clockwise from north
  std::string unknown;            ///< why there is no position; empty where it was not looked for
  bool operator==(const FoundAt&) const = default;
};

}  // namespace vergeset::records
