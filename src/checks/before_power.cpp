#include "checks/before_power.h"

#include <algorithm>

namespace vergeset::checks {

const std::vector<PoleCheck>& pole_checks() {
  static const std::vector<PoleCheck> all{
      {"work-area", "Is traffic control in place, and the work area safe?", "traffic control and work area",
       "", true, false, false, true},
      {"mounted", "Does the unit hang where the drawings say, bracket tight and tethered?",
       "mounted as drawn, tight, tethered", ""},
      {"mount-height", "Height of the unit above ground", "height above ground", "mount-height"},
      {"serial", "Serial number on the unit's label", "serial number", "serial", false, false, true},
      {"mac", "Hardware address on the unit's label", "hardware address", "mac", false, false, true},
      {"antennas", "Is every antenna connected, before there is power?", "antennas connected before power",
       "", true, false, true},
      {"gnss-sky", "Does the GNSS antenna see the sky?", "GNSS antenna sees the sky", ""},
      {"sealed", "Are connectors sealed, glands tight and drip loops made?", "sealed, with drip loops", ""},
      {"cable-length", "Length of the cable from injector or switch to the unit", "cable length",
       "cable-length"},
      {"surge-protector", "Surge protector: its designation, or none", "surge protector", "surge-protector"},
      {"bond", "Where are unit, surge protector and cabinet bonded to one earth? (or none)", "bonded at",
       "bond"},
      {"bond-resistance", "Resistance from the unit's earth stud to the cabinet's bar",
       "resistance of the bond", "bond-resistance"},
      {"earth-resistance", "Resistance of the cabinet's earth", "resistance to earth", "earth-resistance"},
      {"injector-voltage", "Voltage at the injector or switch port", "voltage at the injector",
       "injector-voltage"},
      {"supply-voltage", "Give it power now. Voltage at the unit", "voltage at the unit", "supply-voltage",
       false, true, true},
      {"light", "Does its status light say ready, as its manual has it?", "status light says ready", "",
       false, true, true},
  };
  return all;
}

const PoleCheck* pole_check(std::string_view name) {
  const auto found =
      std::ranges::find_if(pole_checks(), [&](const PoleCheck& check) { return check.name == name; });
  return found == pole_checks().end() ? nullptr : &*found;
}

const std::vector<std::string>& pole_cautions() {
  static const std::vector<std::string> all{
      "Work at height: climb and lift only as trained and equipped for it, with fall protection, clear of "
      "power lines.",
      "Traffic: set up traffic control before work begins; the road's authority says how.",
      "Power: isolate, lock and test before a hand goes in. Bond before power; a licensed electrician does "
      "what the local code asks one for.",
      "Radio: keep the distance that the manufacturer states from an antenna that transmits. Connect "
      "antennas before power.",
      "Messages: wrong MAP or SPaT content misleads drivers and automated vehicles; a licensed engineer "
      "reviews it.",
      "Local codes, the manufacturer's manual and licensed practice go before anything said here.",
  };
  return all;
}

}  // namespace vergeset::checks
