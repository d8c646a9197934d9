#pragma once

#include <map>
#include <string>
#include <vector>

#include "checks/finding.h"

namespace vergeset::checks {

/// What each unit should have alone and several units of a fleet share: rsuID, serial number, hardware
/// address, surveyed position. (Addresses and engine ids that are shared are faults of the files.) Takes
/// time in proportion to the fleet's size.
class SharedThings {
 public:
  explicit SharedThings(const fleet::Fleet& fleet);

  void judge(const fleet::Unit& unit, Findings& findings) const;

 private:
  struct Told {
    std::string_view rule;
    std::string text;
  };
  using Holders = std::map<std::string, std::vector<const fleet::Unit*>>;

  void tell(std::string_view rule, const std::string& what, const Holders& holders);
  void find_neighbours(const fleet::Fleet& fleet);

  std::map<const fleet::Unit*, std::vector<Told>> told_;
};

}  // namespace vergeset::checks
