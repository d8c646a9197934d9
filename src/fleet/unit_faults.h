#pragma once

#include <map>
#include <string>
#include <utility>

#include "fleet/fleet.h"

namespace vergeset::fleet {

/// Faults that show only when a file is read for a certain unit. One slip in fleet.yaml shows for
/// every unit of a thousand: it is told once, with the first unit and how many more.
class UnitFaults {
 public:
  /// `same_as`: what makes two faults at one place the same, where `text` itself differs from unit to
  /// unit; empty: the text.
  void add(const Unit& unit, const Place& place, const std::string& text, const std::string& same_as = {});

  void report(Faults& faults) const;

 private:
  struct Shown {
    std::string text;
    std::string first;
    std::string last;
    std::size_t units = 0;
  };
  std::map<std::pair<Place, std::string>, Shown> shown_;
};

}  // namespace vergeset::fleet
