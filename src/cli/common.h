#pragma once

#include <string>
#include <vector>

#include "cli/command.h"
#include "fleet/fleet.h"

namespace vergeset::cli {

/// What every command takes.
struct Common {
  std::string fleet = ".";
  std::string records;  ///< empty: `records` in the fleet's folder
  bool json = false;

  std::string records_folder() const { return records.empty() ? fleet + "/records" : records; }
};

Section section_of(Common& common);

/// How many units are in hand at once, and whether progress is told.
struct Pace {
  std::size_t at_once = 256;
  bool quiet = false;
};

/// Takes another engine for the unit's from now on (records/known_units.h).
Option accept_option(bool& accept);

std::vector<Option> options_of(Pace& pace);
/// A command's own options, with those behind them.
std::vector<Option> with(std::vector<Option> own, std::vector<Option> more);

/// The options that choose units.
Section section_of(fleet::Choice& choice);

/// The same without names of units, for a command that names its units otherwise.
std::vector<Option> choice_options(fleet::Choice& choice);

}  // namespace vergeset::cli
