#include "report/reach_text.h"

#include <fmt/format.h>

#include "report/comparison_text.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using change::Climbed;
using change::Hold;

std::string end_text(const Climbed& unit) {
  return unit.at_top() ? "at the top" : "ended at " + std::string(change::rung_name(unit.holds.back().rung));
}

/// A unit with each of its rungs.
std::string ladder(const Screen& screen, const Climbed& unit) {
  Table table(2, {"rung", "", "what was found"});
  for (const Hold& hold : unit.holds) {
    table.add(
        {std::string(change::rung_name(hold.rung)), std::string(change::state_name(hold.state)), hold.what});
  }
  std::string text = fmt::format("{}   {}   {}\n", bold(screen, printable(unit.unit->name)),
                                 printable(unit.unit->model->title), printable(address_text(*unit.unit))) +
                     table.text(screen);
  const Hold& last = unit.holds.back();
  if (!last.next.empty()) text += paragraph(screen, "Next: " + last.next, 2);
  return text;
}

/// A line a unit.
std::string overview(const Screen& screen, const std::vector<Climbed>& units) {
  Table table(0, {"unit", "ends at", "what was found"});
  for (const Climbed& unit : units) {
    const Hold& last = unit.holds.back();
    if (unit.at_top()) {
      table.add({unit.unit->name, "", "at the top"});
    } else {
      table.add({unit.unit->name, std::string(change::rung_name(last.rung)), last.what});
    }
  }
  return table.text(screen, true);
}

/// Where to read what to do about the first of those that ended below the top.
std::string where_next(const Screen& screen, const std::vector<Climbed>& units) {
  for (const Climbed& unit : units) {
    if (unit.at_top()) continue;
    return paragraph(screen,
                     fmt::format("Next: vergeset reach {} shows its rungs and what to do", unit.unit->name));
  }
  return {};
}

}  // namespace

std::string reach_text(const Screen& screen, const std::vector<Climbed>& units, bool all_rungs) {
  std::vector<std::string> words{"at the top"};
  std::vector<std::string> found;
  for (int rung = 0; rung <= static_cast<int>(change::Rung::unit); ++rung) {
    words.push_back("ended at " + std::string(change::rung_name(static_cast<change::Rung>(rung))));
  }
  for (const Climbed& unit : units) found.push_back(end_text(unit));
  const std::string counts = summary(words, found) + "\n";
  std::string text;
  if (units.size() != 1 && !all_rungs) {
    return (units.empty() ? text : overview(screen, units)) + counts + where_next(screen, units);
  }
  for (const Climbed& unit : units) text += ladder(screen, unit) + "\n";
  return text + counts;
}

}  // namespace vergeset::report
