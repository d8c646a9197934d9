#pragma once

#include <string>

#include "fleet/fleet.h"

namespace vergeset::fleet {

/// `text` with {unit}, {address}, {model}, {site.FIELD} and the names under `values:` put in; {{ and
/// }} are braces. Problems: a name that nothing stands behind, a site field that the unit has not
/// recorded, a brace without its partner.
Result<std::string> substitute(const std::string& text, const Unit& unit);

/// Whether `text` differs from unit to unit.
inline bool has_substitutes(const std::string& text) {
  return text.find('{') != std::string::npos;
}

/// Adds a text to a key, told apart from the next one by its length.
inline void add_to_key(std::string& key, const std::string& text) {
  key += std::to_string(text.size()) + ':' + text;
}

}  // namespace vergeset::fleet
