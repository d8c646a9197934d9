#include "report/night_summary.h"

#include <fmt/format.h>

#include <map>
#include <set>

#include "report/screen.h"
#include "report/standing_words.h"
#include "report/words.h"
#include "smi/inert.h"

namespace vergeset::report {

namespace {

using Names = std::vector<std::string>;

/// What makes one difference another than it was: which it is, and what was found.
std::set<std::string> keys_of(const std::vector<records::AuditedDifference>& differences) {
  std::set<std::string> keys;
  for (const records::AuditedDifference& one : differences) {
    for (const records::AuditedItem& item : one.items)
      keys.insert(fmt::format("{}\n{}\n{}", one.name, item.setting, item.as_found_words));
    if (one.items.empty()) keys.insert(one.name);
  }
  return keys;
}

/// The names of differences that were not there the night before.
Names new_differences(const UnitStanding& unit) {
  std::set<std::string> before;
  if (unit.before) before = keys_of(unit.before->differences);
  Names names;
  for (const records::AuditedDifference& one : unit.now->differences) {
    bool is_new = false;
    for (const std::string& key : keys_of({one})) is_new = is_new || before.count(key) == 0;
    if (is_new) names.push_back(one.name);
  }
  return names;
}

/// What is new of one unit tonight.
struct News {
  Names drifted;
  Names lost;
  Names back;
  std::map<std::string, Names> findings;  ///< units by what was found
};

void add_findings(const UnitStanding& unit, News& news) {
  std::set<std::string> before;
  if (unit.before) {
    for (const records::AuditedFinding& one : all_findings(*unit.before))
      before.insert(one.rule + "\n" + one.severity);
  }
  for (const records::AuditedFinding& one : all_findings(*unit.now)) {
    if (before.count(one.rule + "\n" + one.severity) == 0)
      news.findings[fmt::format("{}: {}", severity_of(one), one.text)].push_back(unit.unit->name);
  }
}

void add(const UnitStanding& unit, News& news) {
  const Stood now = unit.stands();
  const Stood before =
      unit.before ? stood_named(unit.before->verdict).value_or(Stood::not_audited) : Stood::not_audited;
  const std::string& name = unit.unit->name;
  const bool gone = now == Stood::no_answer || now == Stood::wrong_unit;
  if (now == Stood::drifted) {
    if (const Names names = new_differences(unit); !names.empty())
      news.drifted.push_back(fmt::format("{} ({})", name, names_text(names, 1)));
  }
  if (gone && now != before) news.lost.push_back(now == Stood::wrong_unit ? name + " (wrong unit)" : name);
  if (now == Stood::agrees && before != Stood::agrees && before != Stood::not_audited)
    news.back.push_back(name);
  if (!gone) add_findings(unit, news);
}

/// "change 0007 by robin@desk, 3 units, off air for 6.2 s" of what was begun in this night.
std::string changes_of(const Standing& standing) {
  std::vector<const records::ChangeRecord*> tonight;
  std::set<std::size_t> places;
  for (std::size_t i = 0; i < standing.changes.size(); ++i) {
    if (standing.change_nights[i] != standing.last_night) continue;
    tonight.push_back(&standing.changes[i]);
    places.insert(i);
  }
  if (tonight.empty()) return {};
  std::size_t units = 0;
  std::int64_t off_air = 0;
  for (const UnitStanding& unit : standing.units) {
    bool touched = false;
    for (const UnitChange& one : unit.changes) {
      if (places.count(one.change) == 0) continue;
      touched = true;
      off_air += one.off_air_ms;
    }
    units += touched ? 1 : 0;
  }
  const std::string first = records::change_name(tonight.front()->number);
  std::string text = tonight.size() == 1 ? fmt::format("change {} by {}", first, tonight.front()->who)
                                         : fmt::format("{} changes, {} to {}", tonight.size(), first,
                                                       records::change_name(tonight.back()->number));
  text += ", " + counted(units, "unit");
  if (off_air > 0) text += ", off air for " + seconds_text(static_cast<double>(off_air) / 1000);
  for (const records::ChangeRecord* change : tonight) {
    if (change->ended.empty())
      return text + fmt::format("; {} has not ended", records::change_name(change->number));
  }
  return text;
}

/// The newest findings in one line, the worst first: "error: ... (LK-104)".
std::string findings_of(const News& news) {
  Names told;
  for (const char* severity : {"error", "warning", "notice"}) {
    for (const auto& [text, units] : news.findings) {
      if (text.rfind(severity, 0) == 0) told.push_back(fmt::format("{} ({})", text, names_text(units, 1)));
    }
  }
  return names_text(told, 1);
}

std::string line(const std::string& what, const std::string& text) {
  return text.empty() ? "" : printable(what + text) + "\n";
}

/// Each its own list and its own names, so that no line is long however many units there are.
std::string last_line(const Standing& standing, const News& news) {
  const std::string ours = changes_of(standing);
  const std::string found = findings_of(news);
  if (ours.empty()) return line("found: ", found);
  return line("by us: ", ours + (found.empty() ? "" : "; found: " + found));
}

std::string heading(const Standing& standing, std::size_t audited) {
  const std::string night =
      fmt::format("{}, night of {}", standing.fleet->name, night_text(standing.last_night));
  if (audited > 0)
    return fmt::format("{}: {} of {} audited", night, audited, counted(standing.units.size(), "unit"));
  if (!standing.unread.empty())
    return fmt::format("{}: no audit that can be read: {}", night, standing.unread.front());
  return fmt::format("{}: no audit; see why the nightly job did not run", night);
}

}  // namespace

std::string night_summary(const Standing& standing) {
  News news;
  std::size_t audited = 0;
  for (const UnitStanding& unit : standing.units) {
    if (!unit.now || unit.night != standing.last_night) continue;
    ++audited;
    add(unit, news);
  }
  const std::string lines = line("drifted: ", names_text(news.drifted)) +
                            line("no answer: ", names_text(news.lost)) +
                            line("agree again: ", names_text(news.back)) + last_line(standing, news);
  const bool quiet = lines.empty() && audited > 0;
  return printable(heading(standing, audited)) + "\n" +
         (quiet ? "nothing changed since the night before\n" : lines);
}

}  // namespace vergeset::report
