#include "schema/place.h"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>

namespace vergeset {

namespace {

/// The octets of a control character that a text begins with (C0, DEL, or C1 in UTF-8), or 0.
std::size_t control_octets(std::string_view text) {
  const auto first = static_cast<unsigned char>(text[0]);
  if (first < 0x20 || first == 0x7f) return 1;
  const bool c1 = first == 0xc2 && text.size() > 1 && static_cast<unsigned char>(text[1]) < 0xa0;
  return c1 ? 2 : 0;
}

/// On one line, and without what could rewrite a terminal: YAML can spell any control character.
std::string printable(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const std::size_t control = control_octets(text);
    for (std::size_t i = 0; i < control; ++i)
      out += fmt::format("\\x{:02x}", static_cast<unsigned char>(text[i]));
    if (control == 0) out += text.front();
    text.remove_prefix(std::max<std::size_t>(control, 1));
  }
  return out;
}

}  // namespace

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
  list_.push_back({std::move(place), printable(text)});
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
