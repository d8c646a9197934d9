#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <iterator>
#include <unordered_set>

#include "fleet/fleet.h"
#include "fleet/part.h"
#include "smi/suggest.h"

namespace vergeset::fleet {

namespace {

/// Whether `name` fits a pattern: * any text, ? any one character. Goes back to the last * only, so
/// it takes time in the product of the lengths at most.
bool fits(std::string_view pattern, std::string_view name) {
  std::size_t p = 0;
  std::size_t n = 0;
  std::size_t star = std::string_view::npos;
  std::size_t resume = 0;
  while (n < name.size()) {
    if (p < pattern.size() && pattern[p] == '*') {
      star = p++;
      resume = n;
    } else if (p < pattern.size() && (pattern[p] == '?' || pattern[p] == name[n])) {
      ++p;
      ++n;
    } else if (star != std::string_view::npos) {
      p = star + 1;
      n = ++resume;
    } else {
      return false;
    }
  }
  return pattern.find_first_not_of('*', p) == std::string_view::npos;
}

bool is_pattern(std::string_view word) {
  return word.find_first_of("*?") != std::string_view::npos;
}

/// Names and patterns, of which a command may give one for each of ten thousand units.
class Words {
 public:
  explicit Words(const std::vector<std::string>& words) {
    for (const std::string& word : words) {
      if (is_pattern(word)) {
        patterns_.push_back(word);
      } else {
        names_.insert(word);
      }
    }
  }
  bool empty() const { return names_.empty() && patterns_.empty(); }
  bool any_fits(std::string_view name) const {
    return names_.count(name) != 0 ||
           std::any_of(patterns_.begin(), patterns_.end(),
                       [&](std::string_view pattern) { return fits(pattern, name); });
  }

 private:
  std::unordered_set<std::string_view> names_;
  std::vector<std::string_view> patterns_;
};

/// One line for each word that fits no unit.
class Complaints {
 public:
  void check(const Fleet& fleet, const std::vector<std::string>& words, const std::string& what,
             const std::vector<std::string>& known,
             const std::function<bool(const Unit&, const std::string&)>& has) {
    for (const std::string& word : words) {
      const auto fit = [&](const Unit& unit) { return has(unit, word); };
      if (std::any_of(fleet.units.begin(), fleet.units.end(), fit)) continue;
      const bool exists = std::find(known.begin(), known.end(), word) != known.end();
      if (!text_.empty()) text_ += '\n';
      text_ += exists ? fmt::format("no unit has {} {}", what, word)
                      : fmt::format("no {} is called {}{}", what, word, smi::suggestion(word, known));
    }
  }
  void check_names(const Fleet& fleet, std::vector<std::string> words,
                   const std::vector<std::string>& known) {
    const auto found = [&](const std::string& word) { return fleet.unit(word) != nullptr; };
    words.erase(std::remove_if(words.begin(), words.end(), found), words.end());
    check(fleet, words, "unit", known,
          [](const Unit& unit, const std::string& pattern) { return fits(pattern, unit.name); });
  }
  const std::string& text() const { return text_; }

 private:
  std::string text_;
};

bool chosen(const Unit& unit, const Choice& choice, const Words& names, const Words& except) {
  const auto in = [&](const std::string& group) { return unit.in_group(group); };
  if (!names.empty() && !names.any_fits(unit.name)) return false;
  if (!choice.groups.empty() && std::none_of(choice.groups.begin(), choice.groups.end(), in)) return false;
  if (!choice.models.empty() &&
      (unit.model == nullptr ||
       std::find(choice.models.begin(), choice.models.end(), unit.model->name) == choice.models.end())) {
    return false;
  }
  return !except.any_fits(unit.name);
}

std::vector<const Unit*> in_part(const std::vector<const Unit*>& units, const Part& part) {
  std::vector<const Unit*> own;
  std::copy_if(units.begin(), units.end(), std::back_inserter(own),
               [&](const Unit* unit) { return part_of(unit->name, part.of) == part.number; });
  return own;
}

}  // namespace

/// Names, groups and models each narrow the choice. A word of `except` that fits nothing is a
/// problem too: a slip there would change a unit that was to be spared.
Result<std::vector<const Unit*>> choose(const Fleet& fleet, const Choice& choice) {
  std::vector<std::string> units;
  std::vector<std::string> groups;
  std::vector<std::string> models;
  for (const Unit& unit : fleet.units) units.push_back(unit.name);
  for (const auto& [name, place] : fleet.groups) groups.push_back(name);
  if (fleet.schema != nullptr) {
    for (const auto& [name, model] : fleet.schema->models) models.push_back(name);
  }
  Complaints complaints;
  complaints.check_names(fleet, choice.names, units);
  complaints.check_names(fleet, choice.except, units);
  complaints.check(fleet, choice.groups, "group", groups,
                   [](const Unit& unit, const std::string& group) { return unit.in_group(group); });
  complaints.check(fleet, choice.models, "model", models, [](const Unit& unit, const std::string& model) {
    return unit.model != nullptr && unit.model->name == model;
  });
  if (!complaints.text().empty()) return Problem{complaints.text()};
  const auto part = choice.part.empty() ? Result<Part>(Part{}) : part_named(choice.part);
  if (!part) return Problem{"--part: " + part.problem()};
  const Words names(choice.names);
  const Words except(choice.except);
  std::vector<const Unit*> picked;
  for (const Unit& unit : fleet.units) {
    if (chosen(unit, choice, names, except)) picked.push_back(&unit);
  }
  if (picked.empty()) return Problem{"no unit is left by this choice"};
  return in_part(picked, *part);
}

}  // namespace vergeset::fleet
