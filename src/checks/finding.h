#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fleet/fleet.h"

namespace vergeset::checks {

/// Something a person should know of a unit.
struct Finding {
  std::string rule;  ///< by its name in fleet/rules.h
  fleet::Severity severity = fleet::Severity::warning;
  std::string text;
  std::string source;  ///< what the rule comes from
  Place place{};       ///< in the fleet's files, where there is one
};

/// Findings of one unit, with the severities that its fleet gives them; what is to be ignored is left out.
class Findings {
 public:
  explicit Findings(const fleet::Severities& severities) : severities_(severities) {}

  /// `source`: where it is not the rule's own ("NTCIP 1218 v01 rsuStatus").
  void add(std::string_view rule, std::string text, Place place = {}, std::string source = {});

  /// The most serious first, otherwise as added.
  std::vector<Finding> take();

 private:
  const fleet::Severities& severities_;
  std::vector<Finding> found_;
};

struct UnitFindings {
  const fleet::Unit* unit = nullptr;
  std::vector<Finding> findings;
};

/// What several checks found of a fleet, a unit once, in the fleet's order and each unit's most serious
/// first.
std::vector<UnitFindings> joined(const fleet::Fleet& fleet, std::vector<std::vector<UnitFindings>> checks);

/// Of the most serious; ignore where there is none.
fleet::Severity worst(const std::vector<Finding>& findings);

}  // namespace vergeset::checks
