#include "schema/place.h"

#include <algorithm>

#include "smi/inert.h"

namespace vergeset {

std::string Place::str() const {
  std::string text = file;
  if (line > 0) text += ":" + std::to_string(line);
  if (line > 0 && column > 0) text += ":" + std::to_string(column);
  return text;
}

void Faults::add(Place place, std::string text) {
  constexpr std::size_t most = 1000;
  constexpr std::size_t kept = 400;  // of its beginning, and half of that of its end
  if (text.size() > most) text.replace(kept, text.size() - kept - kept / 2, " ... ");
  list_.push_back({std::move(place), smi::inert(text)});
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
