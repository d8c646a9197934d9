#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "records/disk.h"
#include "smi/result.h"

namespace vergeset::records {

/// What became of one unit in a change, in the words of the design.
struct UnitOutcome {
  std::string unit;
  std::string
      outcome;  ///< "settled", "nothing to do", "restored", "refused", "no answer", "held", "needs attention"
  std::string what;  ///< one line: why, or what to do
  int steps = 0;     ///< SETs that were carried out
  std::int64_t off_air_ms = 0;
};

/// change.yaml: who changed what, when, why, by which files, and how it ended. Written when the
/// change begins and again when it has ended; without `ended` it has not, and what became of its units
/// is taken from its journal when it is read.
struct ChangeRecord {
  int number = 0;
  std::string kind;           ///< "apply", "apply order", "rollback"
  std::string of;             ///< rollback: the change put back; apply order: the file
  std::string who;            ///< user@host
  std::string why;            ///< as given with --why
  std::string approved = {};  ///< apply order: who approved it and when; empty where nobody did
  std::string fleet;
  std::string begun;  ///< RFC 3339
  std::string ended;
  std::vector<std::pair<std::string, std::string>> files;  ///< path and SHA-256 of each file of the fleet
  std::vector<UnitOutcome> units;
};

std::string to_yaml(const ChangeRecord& change);
Result<ChangeRecord> change_from_yaml(const std::string& text);

/// "0042".
std::string change_name(int number);
/// "changes/0042/<name>".
std::string change_path(int number, const std::string& name);

/// The numbers that have a folder below changes/, ascending.
std::vector<int> change_numbers(const Disk& disk);
/// Takes the next free number by making its folder, so that two programs never share one.
int take_change_number(Disk& disk);
/// All that have a readable change.yaml, oldest first.
std::vector<ChangeRecord> all_changes(const Disk& disk);
std::optional<ChangeRecord> find_change(const Disk& disk, int number);

/// Lower-case hex SHA-256 (FIPS 180-4).
std::string sha256(const std::string& octets);

}  // namespace vergeset::records
