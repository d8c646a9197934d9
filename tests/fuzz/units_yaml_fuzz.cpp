// units.yaml, whose values reach down to the octets that are SET.
//
// About: src/fleet/units_yaml.cpp src/fleet/unit_entry.cpp src/fleet/site.cpp src/fleet/unit_maker.cpp
// About: src/fleet/substitute.cpp src/fleet/layer.cpp src/schema/yaml.cpp

#include "fuzz/larkmoor.h"

using namespace vergeset;

FUZZ_TARGET(units_yaml) {
  fuzz::Larkmoor files;
  files.units_yaml = std::string(input);
  Faults faults;
  fleet::Fleet fleet = files.load(faults);
  fuzz::must_tell(faults);
  if (!faults.any()) fuzz::must_be_sound(fleet);
  fuzz::Larkmoor::give_back(fleet);
}
