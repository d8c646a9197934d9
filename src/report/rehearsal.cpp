#include "report/rehearsal.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using change::Rehearsal;
using change::Unknown;
using Kind = Unknown::Kind;

/// What holds for every twin.
const std::vector<std::string>& never_known() {
  static const std::vector<std::string> all{
      "how long it takes between standby and operate (the twin takes 50 ms), and to start anew",
      "limits and quirks of its agent: values that it clips, rewrites, refuses, or takes and forgets",
      "whether it needs standby for more, or for less, than its model and the fleet say",
      "what it holds beyond its model, and what moves by itself: the twin shows that as it was found",
      "what other hands do to it, and what the road to it loses",
  };
  return all;
}

constexpr std::size_t most_names = 8;

std::string list_of(const std::vector<std::string>& names, std::size_t most) {
  std::string text;
  const std::size_t shown = names.size() > most + 1 ? most : names.size();
  for (std::size_t i = 0; i < shown; ++i) text += (i > 0 ? ", " : "") + names[i];
  return shown < names.size() ? fmt::format("{} and {} more", text, names.size() - shown) : text;
}

const char* kind_name(Kind kind) {
  switch (kind) {
    case Kind::not_answered:
      return "not answered";
    case Kind::rows_untried:
      return "rows untried";
    case Kind::rows_limit:
      return "rows limit";
    case Kind::not_allowed:
      return "not allowed";
    case Kind::cuts_off:
      return "cuts off";
    case Kind::mode:
      break;
  }
  return "mode";
}

/// yes and no are told of what was tried; the rest was not reached.
std::string tried(bool passed, bool reached) {
  return passed ? "yes" : reached ? "no" : "not reached";
}

std::string seconds(const Rehearsal& rehearsal) {
  return fmt::format("{:.1f} s", static_cast<double>(rehearsal.took.count()) / 1000);
}

std::string table_text(const Screen& screen, const std::vector<Rehearsal>& rehearsals) {
  Table table(2, {"unit", "steps", "verified", "rolled back", "restored", "took"});
  for (const Rehearsal& one : rehearsals) {
    table.add({one.unit, std::to_string(one.steps), tried(one.verified, true),
               tried(one.rolled_back, one.verified), tried(one.restored, one.rolled_back), seconds(one)});
    if (!one.passed()) table.add_below(one.what, 4);
  }
  return table.text(screen, true);
}

/// Under each kind the names that are unknown, those of the same units together.
std::string unknown_of_units(const Screen& screen, const std::vector<Rehearsal>& rehearsals) {
  constexpr std::size_t most_units = 6;
  std::map<Kind, std::map<std::string, std::vector<std::string>>> units_of;
  for (const Rehearsal& one : rehearsals) {
    for (const Unknown& unknown : one.unknown) {
      for (const std::string& name : unknown.names) units_of[unknown.kind][name].push_back(one.unit);
    }
  }
  std::string out;
  for (const auto& [kind, names] : units_of) {
    out += paragraph(screen, kind_text(kind), 2);
    std::map<std::vector<std::string>, std::vector<std::string>> together;
    for (const auto& [name, units] : names) together[units].push_back(name);
    for (const auto& [units, same] : together) {
      const bool all = units.size() == rehearsals.size();
      const std::string whose = all ? "all of them" : list_of(units, screen.full ? units.size() : most_units);
      const std::string what = list_of(same, screen.full ? same.size() : most_names);
      const std::string line = rehearsals.size() == 1 ? what : fmt::format("{}: {}", what, whose);
      out += paragraph(screen, line, 4);
    }
  }
  return out;
}

}  // namespace

std::string kind_text(Kind kind) {
  switch (kind) {
    case Kind::not_answered:
      return "objects of the model that gave no answer, which the twin does not offer either";
    case Kind::rows_untried:
      return "which columns the unit offers in a table that had no row";
    case Kind::rows_limit:
      return "how many rows a table takes, where the unit does not say (the twin takes 100)";
    case Kind::not_allowed:
      return "whether the unit takes back what its model does not allow (the twin does not)";
    case Kind::cuts_off:
      return "whether this manager is cut off (the twin stays where it is)";
    case Kind::mode:
      break;
  }
  return "in which mode the unit is, which it does not show";
}

std::string rehearsal_text(const Screen& screen, const std::vector<Rehearsal>& rehearsals) {
  if (rehearsals.empty()) return {};
  const auto passed = static_cast<std::size_t>(
      std::count_if(rehearsals.begin(), rehearsals.end(), [](const Rehearsal& one) { return one.passed(); }));
  std::string out =
      fmt::format("rehearsed {} on twins: {} passed", counted(rehearsals.size(), "unit"), passed);
  if (passed < rehearsals.size()) out += fmt::format(", {} failed", rehearsals.size() - passed);
  out += "\n" + table_text(screen, rehearsals);
  out += paragraph(screen,
                   "Rolled back: every setting of the twin exactly as found again. Restored: the same on a "
                   "second twin, which refused the last step.",
                   2);
  if (passed < rehearsals.size())
    out +=
        paragraph(screen,
                  "A unit whose rehearsal failed gets no SET: mend what its files or its model say, or write "
                  "the work order anew, and rehearse again.",
                  2);
  out += dim(screen, "what the twins could not know") + "\n" + unknown_of_units(screen, rehearsals);
  std::string always;
  for (const std::string& one : never_known()) always += (always.empty() ? "of any unit: " : "; ") + one;
  return out + paragraph(screen, always, 2) + "\n";
}

Json rehearsal_json(const std::vector<Rehearsal>& rehearsals) {
  Json units = Json::array();
  for (const Rehearsal& one : rehearsals) {
    Json unknown = Json::array();
    for (const Unknown& each : one.unknown)
      unknown.push_back(
          {{"kind", kind_name(each.kind)}, {"text", kind_text(each.kind)}, {"names", each.names}});
    units.push_back({{"unit", one.unit},
                     {"passed", one.passed()},
                     {"what", one.what},
                     {"steps", one.steps},
                     {"verified", one.verified},
                     {"rolled_back", one.rolled_back},
                     {"restored", one.restored},
                     {"took_ms", one.took.count()},
                     {"unknown", std::move(unknown)}});
  }
  return {{"units", std::move(units)}, {"never_known", never_known()}};
}

}  // namespace vergeset::report
