#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "smi/result.h"

namespace vergeset::fleet {

/// Antennas of one kind, as a site record tells of them.
struct Antenna {
  int count = 1;
  std::string kind;  ///< "C-V2X", "DSRC omni", "GNSS"
  std::optional<double> gain_dbi;
  std::optional<double> loss_db;  ///< of the cable to it
  std::optional<double> bearing_deg;

  /// Whether it only receives satellites.
  bool of_satellites() const;
};

/// "2 C-V2X 6 dBi, 1.5 dB, 40 deg + GNSS": antennas of several kinds are parted by +, what is known of
/// one by commas or blanks, a number by the unit behind it; all other words are its kind ("5.9 GHz omni").
/// Problems: a measure out of reason or twice, an antenna without a kind.
Result<std::vector<Antenna>> parse_antennas(std::string_view text);

}  // namespace vergeset::fleet
