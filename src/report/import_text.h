#pragma once

#include <string>

#include "fleet/import_units.h"
#include "report/json.h"
#include "report/screen.h"

namespace vergeset::report {

/// The file that was read, and how.
struct ImportSource {
  std::string file;
  std::string encoding;
  std::string delimiter;  ///< in a word
};

/// What becomes of each column, then what did not fit: questions, rows that are left out, cells that are left
/// empty, each with its line, column, what stood there and what was expected. Ten of a kind are told in full
/// and the others by their lines. Then what was changed on the way, and units that the fleet has already.
std::string import_text(const Screen& screen, const ImportSource& source, const fleet::Import& import);

/// All of it, with the new units.
Json import_json(const ImportSource& source, const fleet::Import& import);

}  // namespace vergeset::report
