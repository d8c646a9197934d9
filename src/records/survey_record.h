#pragma once

#include <optional>
#include <string>
#include <vector>

#include "records/disk.h"
#include "records/snapshot.h"

namespace vergeset::records {

/// surveys/<unit>.yaml: a unit as found, instance by instance. What was asked for and is not there is
/// kept too, as noSuchObject or noSuchInstance.
struct Survey {
  std::string unit;
  std::string model;
  std::string taken;      ///< RFC 3339
  std::string engine_id;  ///< hex
  bool whole = false;     ///< the whole model was read, not what the files need alone
  std::vector<Kept> instances;
  bool operator==(const Survey&) const = default;
};

std::string to_yaml(const Survey& survey);
Result<Survey> survey_from_yaml(const std::string& text);

std::string survey_path(const std::string& unit);

/// The kept survey of a unit; nothing where there is none, a problem where it cannot be read.
std::optional<Result<Survey>> find_survey(const Disk& disk, const std::string& unit);

}  // namespace vergeset::records
