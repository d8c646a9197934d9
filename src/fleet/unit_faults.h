#pragma once

#include <map>
#include <string>
#include <utility>

#include "fleet/fleet.h"

namespace vergeset::fleet {

/// Faults that show only when a file is read for a certain unit. One slip in fleet.yaml shows for
/// every unit of a thousand: it is told once, with the first unit by name and how many more. What is added
/// for one unit is added before the next.
class UnitFaults {
 public:
  /// `same_as`: what makes two faults at one place the same, where `text` itself differs from unit to
  /// unit; empty: the text.
  void add(const Unit& unit, const Place& place, const std::string& text, const std::string& same_as = {});

  void report(Faults& faults) const;

  /// How often one was added, of whatever unit.
  std::size_t count() const { return count_; }

 private:
  struct Shown {
    std::string text;
    std::string first;
    std::string last;
    std::size_t units = 0;
  };
  std::map<std::pair<Place, std::string>, Shown> shown_;
  std::size_t count_ = 0;
};

}  // namespace vergeset::fleet
