#pragma once

#include "cli/commission_unit.h"

namespace vergeset::cli {

/// What a stage of a commissioning comes to, and the status that the program ends with where it is the last.
struct StageEnd {
  records::StageDone done;
  int status = 0;
};

/// The stages that talk to the unit, in the order in which they are taken (report/acceptance_made.h names
/// them). Each leaves what it found in its StageDone.
struct Stages {
  const fleet::Fleet& fleet;
  const fleet::Unit& unit;
  const CommissionOptions& options;
  records::Commissioning& record;

  StageEnd reach() const;
  /// Which credential opens it, what it is, and its firmware, which is read with it.
  StageEnd identify() const;
  StageEnd firmware() const;
  /// From the factory's credentials to the unit's own; where its own opens it already, that the factory's do
  /// not.
  StageEnd keys() const;
  StageEnd apply() const;
  /// Reads it anew: it agrees with its files, and is well.
  StageEnd health() const;
  StageEnd position() const;
  StageEnd messages() const;
};

}  // namespace vergeset::cli
