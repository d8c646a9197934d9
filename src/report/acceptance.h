#pragma once

#include <string>
#include <utility>
#include <vector>

#include "checks/finding.h"
#include "report/screen.h"

namespace vergeset::report {

/// What the acceptance sheet of one unit says: all of it in words, nothing secret.
struct Acceptance {
  struct Field {
    std::string name;
    std::string text;      ///< empty: not recorded
    std::string measured;  ///< what was found at the pole, where that is not what the record says
  };
  struct Check {
    std::string states;  ///< "antennas connected before power"
    std::string answer;  ///< "yes", "no", "0.3 ohm", "not asked"
    std::string note;
    std::string who;
    std::string at;  ///< RFC 3339
  };
  struct Stage {
    std::string name;    ///< "reach", "keys", ...
    std::string result;  ///< "passed", "failed", "passed with findings"
    std::string text;
    std::string who;
    std::string at;
  };
  struct Setting {
    std::string name;
    std::string as_found;
    std::string as_left;
  };

  std::string fleet;
  std::string unit;
  std::string model;
  std::string address;
  std::string firmware;  ///< empty: unknown
  int number = 0;        ///< of this commissioning of the unit
  std::string begun;     ///< RFC 3339
  std::string ended;     ///< empty: it has not ended
  std::string records;   ///< where all of it stands ("records/changes/0042"); empty: somewhere under records/
  std::vector<Field> site;
  std::vector<Check> checks;
  std::vector<Stage> stages;
  std::vector<Setting> settings;          ///< what apply changed
  std::vector<std::string> keys;          ///< that they were changed, when, in which change; never which
  std::vector<Field> position;            ///< surveyed, and as found in `measured`
  std::vector<checks::Finding> findings;  ///< open ones
  std::vector<std::string> cautions;
  bool accepted = false;  ///< every stage has passed and no finding is an error
};

/// The sheet as text of at most 80 columns, all of it.
std::string acceptance_text(const Screen& screen, const Acceptance& sheet);

/// The sheet as one HTML page without any other file, script or request, which prints on two sides of paper
/// (A4 and US Letter) whatever it holds. Of a list that is too long for its side the first lines are printed,
/// the number of the others, and where they stand; a screen shows all of them.
std::string acceptance_page(const Acceptance& sheet);

}  // namespace vergeset::report
