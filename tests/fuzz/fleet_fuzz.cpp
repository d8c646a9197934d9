// fleet.yaml, whose values reach down to the octets that are SET.
//
// About: src/fleet/fleet_file.cpp src/fleet/credential.cpp src/fleet/layer.cpp src/fleet/wave.cpp
// About: src/fleet/window.cpp src/fleet/written.cpp src/schema/yaml_file.cpp src/schema/yaml_tree.cpp
// About: src/schema/yaml.cpp

#include "fuzz/larkmoor.h"

using namespace vergeset;

FUZZ_TARGET(fleet) {
  fuzz::Larkmoor files;
  files.fleet_yaml = std::string(input);
  Faults faults;
  fleet::Fleet fleet = files.load(faults);
  fuzz::must_tell(faults);
  if (!faults.any()) fuzz::must_be_sound(fleet);
  fuzz::Larkmoor::give_back(fleet);
}
