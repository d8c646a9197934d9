#include "schema/place.h"

#include <algorithm>

namespace vergeset {

std::string Place::str() const {
  std::string text = file;
  if (line > 0) text += ":" + std::to_string(line);
  if (line > 0 && column > 0) text += ":" + std::to_string(column);
  return text;
}

std::vector<Fault> Faults::sorted() const {
  std::vector<Fault> faults = list_;
  const auto before = [](const Fault& a, const Fault& b) {
    if (a.place != b.place) return a.place < b.place;
    return a.text < b.text;
  };
  const auto same = [](const Fault& a, const Fault& b) { return a.place == b.place && a.text == b.text; };
  std::sort(faults.begin(), faults.end(), before);
  faults.erase(std::unique(faults.begin(), faults.end(), same), faults.end());
  return faults;
}

}  // namespace vergeset
