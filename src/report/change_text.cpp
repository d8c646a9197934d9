#include "report/change_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <map>
#include <set>

#include "records/change_record.h"
#include "report/comparison_text.h"
#include "report/findings_text.h"
#include "report/steps_text.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using change::Outcome;
using change::Preview;
using change::UnitResult;

const std::vector<std::string> outcomes = {"settled", "would change", "nothing to do", "restored",
                                           "refused", "no answer",    "held",          "needs attention"};

bool would_change(const Preview& preview) {
  return preview.result.outcome == Outcome::settled;
}

std::string outcome_words(const Preview& preview) {
  return would_change(preview) ? "would change" : std::string(outcome_name(preview.result.outcome));
}

std::string dry_run_of(const Screen& screen, const Preview& preview) {
  const UnitResult& result = preview.result;
  if (!would_change(preview)) {
    std::string out = unit_line(screen, *preview.unit, std::string(outcome_name(result.outcome)));
    if (!result.what.empty()) out += paragraph(screen, result.what, 2);
    return out + differences_text(screen, result.differences);
  }
  return unit_line(screen, *preview.unit, counted(result.differences.size(), "difference")) +
         differences_text(screen, result.differences) + beside_text(screen, {{}, result.remarks, {}}, {}) +
         "\n" + steps_text(screen, result.sequence);
}

/// What would change, by the name that the files give it, and on how many units.
struct Tally {
  std::set<std::string> units;
  bool standby = false;
  bool cuts_off = false;
};

std::string tally_text(const Screen& screen, const std::vector<Preview>& previews) {
  std::map<std::string, Tally> tallies;
  for (const Preview& preview : previews) {
    if (!would_change(preview)) continue;
    for (const change::Difference& difference : preview.result.differences) {
      Tally& tally = tallies[difference.name];
      tally.units.insert(preview.result.unit);
      tally.standby = tally.standby || difference.standby();
      tally.cuts_off = tally.cuts_off || difference.cuts_off();
    }
  }
  Table table(2, {"what changes", "units", "needs standby"});
  for (const auto& [name, tally] : tallies) {
    const std::string standby = tally.standby ? "yes" : "no";
    table.add({name, std::to_string(tally.units.size()),
               tally.cuts_off ? standby + ", can cut this manager off" : standby});
  }
  return table.empty() ? std::string() : table.text(screen);
}

}  // namespace

std::string in_waves_text(const Screen& screen, const std::vector<std::size_t>& waves) {
  if (waves.size() < 2) return {};
  std::string sizes;
  for (const std::size_t size : waves) sizes += (sizes.empty() ? "" : ", ") + std::to_string(size);
  return paragraph(screen, fmt::format("In {} waves of {} units.", waves.size(), sizes));
}

std::string dry_run_text(const Screen& screen, const std::vector<Preview>& previews) {
  std::string out;
  std::vector<std::string> words;
  for (const Preview& preview : previews) {
    words.push_back(outcome_words(preview));
    if (preview.result.outcome != Outcome::nothing_to_do) out += dry_run_of(screen, preview) + "\n";
  }
  return out + summary(outcomes, words) + "; no SET was sent\n";
}

std::string preview_text(const Screen& screen, const std::vector<Preview>& previews,
                         const std::vector<std::size_t>& waves) {
  std::string out;
  std::vector<std::string> words;
  int name_width = 0;
  for (const Preview& preview : previews) {
    words.push_back(outcome_words(preview));
    name_width = std::max(name_width, text_width(preview.result.unit));
  }
  for (const Preview& preview : previews) {
    const bool told = would_change(preview) || preview.result.outcome == Outcome::nothing_to_do;
    if (!told) out += unit_end_text(screen, name_width, preview.result);
  }
  const std::string tally = tally_text(screen, previews);
  if (tally.empty()) return out;
  out += summary(outcomes, words) + "\n" + tally;
  return out + in_waves_text(screen, waves);
}

std::string caution_text(const Screen& screen, const std::vector<Preview>& previews) {
  std::size_t leaving = 0;
  std::size_t staying = 0;
  double longest = 0;
  bool rows = false;
  for (const Preview& preview : previews) {
    if (!would_change(preview)) continue;
    const change::Sequence& sequence = preview.result.sequence;
    leaving += sequence.leaves_operate && !sequence.ends_off_air ? 1 : 0;
    staying += sequence.ends_off_air ? 1 : 0;
    longest = std::max(longest, change::expected_off_air_s(sequence));
    rows = rows || std::any_of(preview.result.differences.begin(), preview.result.differences.end(),
                               [](const change::Difference& one) { return one.is_row(); });
  }
  std::string text;
  if (leaving > 0) {
    text +=
        fmt::format("{} {} to standby, for about {}{}. ", counted(leaving, "unit"),
                    leaving == 1 ? "goes" : "go", seconds_text(longest), leaving == 1 ? "" : " each at most");
  }
  if (staying > 0) {
    text += fmt::format("{} {} left in standby, as asked. ", counted(staying, "unit"),
                        staying == 1 ? "is" : "are");
  }
  if (!text.empty()) {
    text += "A unit in standby sends no MAP, SPaT or traveller information: vehicles lose it. ";
  }
  if (rows) {
    text +=
        "Wrong MAP or SPaT content can mislead drivers and automated vehicles: a licensed engineer's "
        "review decides what is sent. ";
  }
  return text.empty() ? text : paragraph(screen, text);
}

std::string wave_line(std::size_t wave, std::size_t of, std::size_t units) {
  return fmt::format("wave {} of {}: {}\n", wave, of, counted(units, "unit"));
}

std::string unit_end_text(const Screen& screen, int name_width, const UnitResult& unit) {
  const std::string name = printable(unit.unit);
  const auto pad = static_cast<std::size_t>(std::max(0, name_width - text_width(name)));
  std::string says(outcome_name(unit.outcome));
  if (unit.steps_done > 0) says += ", " + counted(static_cast<std::size_t>(unit.steps_done), "step");
  if (unit.still_off_air) {
    says += ", still off air";
  } else if (unit.off_air.count() > 0) {
    says += ", off air for " + seconds_text(static_cast<double>(unit.off_air.count()) / 1000);
  }
  std::string out = "  " + bold(screen, name) + std::string(pad, ' ') + "   " + says + "\n";
  if (!unit.what.empty()) out += paragraph(screen, unit.what, 4);
  for (const checks::Finding& finding : unit.health) {
    out += paragraph(screen, "health: " + finding_line(finding), 4);
  }
  return out;
}

std::string change_end_text(const Screen& screen, const change::ChangeResult& change) {
  std::vector<std::string> words;
  std::string held;
  for (const UnitResult& unit : change.units) {
    words.emplace_back(outcome_name(unit.outcome));
    if (unit.outcome == Outcome::held) held += (held.empty() ? "" : ", ") + unit.unit;
  }
  std::string out;
  if (!change.stopped.empty()) out += paragraph(screen, "stopped: " + change.stopped);
  if (!held.empty()) out += paragraph(screen, "held: " + held);
  const std::string counts = summary(outcomes, words);
  return out + (change.number > 0
                    ? fmt::format("change {}, {}\n", records::change_name(change.number), counts)
                    : counts + "\n");
}

}  // namespace vergeset::report
