// The file of a group, whose values reach down to the octets that are SET.
//
// About: src/fleet/layer.cpp src/fleet/names.cpp src/fleet/resolve.cpp src/fleet/resolve_tables.cpp
// About: src/fleet/resolve_traits.cpp src/fleet/value_for.cpp src/fleet/meaning.cpp src/fleet/written.cpp
// About: src/fleet/find_row.cpp src/schema/yaml.cpp

#include "fuzz/larkmoor.h"

using namespace vergeset;

FUZZ_TARGET(group) {
  fuzz::Larkmoor files;
  files.group_yaml = std::string(input);
  Faults faults;
  fleet::Fleet fleet = files.load(faults);
  fuzz::must_tell(faults);
  if (!faults.any()) fuzz::must_be_sound(fleet);
  fuzz::Larkmoor::give_back(fleet);
}
