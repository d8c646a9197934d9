#pragma once

#include <optional>
#include <string>
#include <vector>

#include "checks/message_parts.h"

/// SAE J2735 (2016) SPAT, read for what it belongs to: which intersections, of which revision of their
/// MAP. The phases change every tenth of a second; they are counted and passed over.
namespace vergeset::j2735 {

struct SignalState {
  std::string name;
  Reference id;
  int revision = 0;  ///< of the MAP that it goes with
  std::optional<int> minute;
  std::optional<int> millisecond;  ///< of the minute; 65535 is not known
  std::size_t states = 0;          ///< signal groups
  bool operator==(const SignalState&) const = default;
};

struct Spat {
  std::optional<int> minute;
  std::string name;
  std::vector<SignalState> intersections;
  bool operator==(const Spat&) const = default;
};

Spat read_spat(Uper& in);

}  // namespace vergeset::j2735
