#include "fleet/substitute.h"

#include "fleet/names.h"
#include "fleet/site.h"
#include "smi/suggest.h"

namespace vergeset::fleet {

namespace {

std::vector<std::string> known_names(const Unit& unit) {
  std::vector<std::string> names = {"unit", "address", "model"};
  for (const std::string& field : site_field_names()) names.push_back("site." + field);
  for (const auto& [name, text] : unit.values) names.emplace_back(name);
  return names;
}

Result<std::string> site_value(const std::string& name, const Unit& unit) {
  const std::string field = name.substr(std::string_view("site.").size());
  if (!known_site_field(field)) {
    return Problem{"a site record has no field " + field + smi::suggestion(field, site_field_names())};
  }
  const auto text = site_text(unit.site, field);
  if (!text)
    return Problem{"the unit has not recorded site field " + field +
                   "; record it, or ask for a value of its own"};
  return *text;
}

Result<std::string> value_of(const std::string& name, const Unit& unit) {
  if (name == "unit") return unit.name;
  if (name == "address") return unit.host;
  if (name == "model" && unit.model != nullptr) return unit.model->name;
  if (name.rfind("site.", 0) == 0) return site_value(name, unit);
  const auto found = unit.values.find(name);
  if (found != unit.values.end()) return std::string(found->second);
  return Problem{"nothing is known under {" + name + "}" +
                 hint(name, known_names(unit), "names stand under values:")};
}

}  // namespace

Result<std::string> substitute(const std::string& text, const Unit& unit) {
  if (text.find_first_of("{}") == std::string::npos) return text;
  std::string made;
  for (std::size_t at = 0; at < text.size();) {
    const char c = text[at];
    const bool doubled = at + 1 < text.size() && text[at + 1] == c;
    if ((c == '{' || c == '}') && doubled) {
      made += c;
      at += 2;
    } else if (c == '}') {
      return Problem{"a } without its {; write }} for the brace itself, found " + text};
    } else if (c == '{') {
      const std::size_t end = text.find_first_of("{}", at + 1);
      if (end == std::string::npos || text[end] == '{') {
        return Problem{"a { without its }; write {{ for the brace itself, found " + text};
      }
      const auto value = value_of(text.substr(at + 1, end - at - 1), unit);
      if (!value) return Problem{value.problem()};
      made += *value;
      at = end + 1;
    } else {
      made += c;
      ++at;
    }
  }
  return made;
}

}  // namespace vergeset::fleet
