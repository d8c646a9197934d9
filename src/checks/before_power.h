#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace vergeset::checks {

/// Something that only a person at the pole can see or measure before the unit has power, and when it has.
struct PoleCheck {
  std::string_view name;    ///< in an answers file
  std::string_view asks;    ///< "Is every antenna connected?"
  std::string_view states;  ///< as a sheet has it: "every antenna connected"
  std::string_view field;   ///< of the site record, where a value is asked for; empty: yes or no
  bool must_hold = false;   ///< a no ends the commissioning until it is mended
  bool with_power = false;  ///< after the unit has power
  bool at_bench = false;    ///< can be made before the unit is at its pole
  bool each_visit = false;  ///< what held on one day says nothing of another
};

/// In the order in which they are made. All are common practice; the manufacturer's manual decides.
const std::vector<PoleCheck>& pole_checks();
const PoleCheck* pole_check(std::string_view name);

/// What a person is told before work on a pole, one caution a text.
const std::vector<std::string>& pole_cautions();

}  // namespace vergeset::checks
