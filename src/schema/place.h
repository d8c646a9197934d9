#pragma once

#include <compare>
#include <string>
#include <utility>
#include <vector>

#include "schema/shared_text.h"

namespace vergeset {

/// Where something stands in a file that a person wrote. Lines and columns count from 1; 0 is "the
/// file as a whole".
struct Place {
  SharedText file;
  int line = 0;
  int column = 0;

  std::string str() const;  ///< "groups/signals.yaml:12:5"
  auto operator<=>(const Place&) const = default;
};

/// One error in a file: what was expected, what stood there, and what to do.
struct Fault {
  Place place;
  std::string text;
  std::string str() const { return place.str() + ": " + text; }
};

/// All errors of a tree. Loading goes on after each, so that a person mends a file once and not
/// once an error.
class Faults {
 public:
  /// A text that no person would read to its end (a file may hold a name of a megabyte) is cut.
  void add(Place place, std::string text);
  bool any() const { return !list_.empty(); }
  std::size_t count() const { return list_.size(); }
  /// By file, line and column, each once.
  std::vector<Fault> sorted() const;

 private:
  std::vector<Fault> list_;
};

}  // namespace vergeset
