#include "report/history_text.h"

#include <fmt/format.h>

#include <sstream>

#include "change/outcome.h"
#include "report/fleet_text.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using records::ChangeRecord;
using records::UnitOutcome;

/// Where what stands below a change begins: under the column behind its number.
constexpr int why_indent = 9;

std::vector<std::string> with(std::vector<std::string> cells, std::string last) {
  cells.push_back(std::move(last));
  return cells;
}

std::string counts_of(const ChangeRecord& change) {
  std::vector<std::string> words;
  for (const UnitOutcome& unit : change.units) words.push_back(unit.outcome);
  const std::string counts = summary(outcome_words(), words);
  return change.ended.empty() ? counts + "; has not ended" : counts;
}

/// The units to which something happened, one a line; the others by name.
std::string units_of(const Screen& screen, const ChangeRecord& change) {
  Table table(0, {"unit", "outcome", "steps", "off air", "why"});
  std::string others;
  for (const UnitOutcome& unit : change.units) {
    if (unit.outcome == outcome_name(change::Outcome::nothing_to_do)) {
      others += (others.empty() ? "" : ", ") + unit.unit;
      continue;
    }
    const std::string off_air =
        unit.off_air_ms > 0 ? seconds_text(static_cast<double>(unit.off_air_ms) / 1000) : "none";
    table.add({unit.unit, unit.outcome, std::to_string(unit.steps), off_air, unit.what});
  }
  const std::string rest = others.empty() ? "" : paragraph(screen, "nothing to do: " + others);
  return table.empty() ? rest : table.text(screen, true) + rest;
}

std::string files_of(const Screen& screen, const ChangeRecord& change) {
  Table table(0, {"file", "SHA-256"});
  for (const auto& [path, digest] : change.files) table.add({path, digest});
  return table.text(screen);
}

}  // namespace

std::string kind_text(const ChangeRecord& change) {
  if (change.of.empty()) return change.kind;
  return change.kind == "rollback" ? fmt::format("rollback of {}", change.of)
                                   : fmt::format("{} {}", change.kind, change.of);
}

std::string unfinished_words() {
  return "has not ended; where no vergeset is at it any more: vergeset recover";
}

const std::vector<std::string>& outcome_words() {
  static const std::vector<std::string> words = {"settled",   "nothing to do", "restored",       "refused",
                                                 "no answer", "held",          "needs attention"};
  return words;
}

std::string changes_text(const Screen& screen, const std::vector<ChangeRecord>& changes) {
  const auto row_of = [](const ChangeRecord& change) {
    return std::vector<std::string>{records::change_name(change.number), time_text(change.begun), change.who,
                                    kind_text(change), counts_of(change)};
  };
  const std::vector<std::string> heading{"change", "begun", "who", "what", "outcome"};
  Table beside(0, with(heading, "why"));
  Table below(0, heading);
  for (const ChangeRecord& change : changes) {
    beside.add(with(row_of(change), change.why));
    below.add(row_of(change));
    if (!change.why.empty()) below.add_below("why: " + change.why, why_indent);
  }
  return beside.fits(screen) ? beside.text(screen, true) : below.text(screen, true);
}

std::string change_text(const Screen& screen, const ChangeRecord& change) {
  Table about(0);
  about.add({"change", records::change_name(change.number)});
  about.add({"what", kind_text(change)});
  about.add({"fleet", change.fleet});
  about.add({"who", change.who});
  about.add({"why", change.why.empty() ? "not told" : change.why});
  if (!change.approved.empty()) about.add({"approved", change.approved});
  about.add({"begun", time_text(change.begun)});
  about.add({"ended", change.ended.empty() ? unfinished_words() : time_text(change.ended)});
  if (!screen.full) about.add({"files", counted(change.files.size(), "file") + "; --full for their digests"});
  std::string out = about.text(screen) + "\n" + units_of(screen, change) + "\n";
  if (screen.full) out += files_of(screen, change) + "\n";
  return out + counts_of(change) + "\n";
}

bool LogLine::is_set() const {
  return what.rfind("SET ", 0) == 0;
}

std::vector<LogLine> read_log(const std::string& text) {
  std::vector<LogLine> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) {
    const auto first = line.find("  ");
    const auto second = first == std::string::npos ? first : line.find("  ", first + 2);
    if (second == std::string::npos) {
      if (!line.empty()) lines.push_back({"", "", line});
      continue;
    }
    const auto what = line.find_first_not_of(' ', second);
    lines.push_back({line.substr(0, first), line.substr(first + 2, second - first - 2),
                     what == std::string::npos ? std::string() : line.substr(what)});
  }
  return lines;
}

std::string log_text(const Screen& screen, const std::vector<LogLine>& lines) {
  Table table(0, {"when", "for", "what"});
  for (const LogLine& line : lines) table.add({line.at, line.purpose, shorten_hex(screen, line.what)});
  return table.empty() ? "nothing\n" : table.text(screen);
}

}  // namespace vergeset::report
