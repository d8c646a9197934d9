#pragma once

#include <map>
#include <optional>
#include <string>

#include "checks/before_power.h"
#include "fleet/fleet.h"
#include "records/commissioning.h"

namespace vergeset::cli {

/// What people answered beforehand, on paper at the pole or in an office, as a file has it:
///
///     who: A. Fitter                   # who made the checks; left out, who runs the program
///     all: {work-area: yes}            # of every unit that says nothing else
///     units:
///       LK-104: {serial: LM7, bond-resistance: 0.3 ohm, sealed: {answer: no, note: one gland is missing}}
class PoleAnswers {
 public:
  /// Every fault of the file is in `faults`.
  static PoleAnswers read(const std::string& path, const fleet::Fleet& fleet, Faults& faults);

  std::optional<records::PoleAnswer> find(const std::string& unit, const std::string& check) const;

 private:
  using ByCheck = std::map<std::string, records::PoleAnswer>;
  std::map<std::string, ByCheck> units_;
  ByCheck all_;
};

/// An answer as a person gives it: yes or no, each with a note behind it; a value that the site record takes
/// where the check asks for one; or "skip", which is kept as "not asked". A problem says what was expected.
Result<records::PoleAnswer> answer_from(const checks::PoleCheck& check, const std::string& text);

/// Asks at the terminal until the answer can be taken; nothing where the person goes away. `recorded` is
/// what the site record says, and holds where nothing is typed.
std::optional<records::PoleAnswer> ask_check(const checks::PoleCheck& check, const std::string& recorded);

}  // namespace vergeset::cli
