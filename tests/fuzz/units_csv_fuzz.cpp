// units.csv, whose values reach down to the octets that are SET.
//
// About: src/fleet/units_csv.cpp src/fleet/csv.cpp src/fleet/csv_cursor.h src/fleet/unit_entry.cpp
// About: src/fleet/site.cpp src/fleet/unit_maker.cpp

#include "fuzz/larkmoor.h"

using namespace vergeset;

FUZZ_TARGET(units_csv) {
  fuzz::Larkmoor files;
  files.units_csv = std::string(input);
  Faults faults;
  fleet::Fleet fleet = files.load(faults);
  fuzz::must_tell(faults);
  if (!faults.any()) fuzz::must_be_sound(fleet);
  fuzz::Larkmoor::give_back(fleet);
}
