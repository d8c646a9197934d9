#include "report/recover_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "records/change_record.h"
#include "records/clock.h"
#include "report/change_text.h"
#include "report/fleet_text.h"
#include "report/history_text.h"
#include "report/words.h"
#include "report/wrap.h"

namespace vergeset::report {

namespace {

using change::Recovered;
using records::HalfDone;
using records::Unfinished;

std::string joined(const std::vector<std::string>& names) {
  if (names.empty()) return "its end is not on record";
  std::string out;
  for (const std::string& name : names) out += (out.empty() ? "" : ", ") + name;
  return out;
}

std::string standby_line(const Screen& screen, const HalfDone& unit) {
  if (unit.standby_at == 0) return {};
  return paragraph(
      screen,
      fmt::format("{} may be in standby since {}", printable(unit.unit), records::stamp(unit.standby_at)), 2);
}

std::string one_unfinished(const Screen& screen, const Unfinished& one) {
  const records::ChangeRecord& change = one.change;
  const std::string why = change.why.empty() ? std::string() : fmt::format(" ({})", change.why);
  std::string out = paragraph(screen, fmt::format("change {} has not ended: {}{}, by {}, begun {}",
                                                  records::change_name(change.number), kind_text(change), why,
                                                  change.who, time_text(change.begun)));
  out += paragraph(
      screen,
      fmt::format("{}, {} begun and not ended", counted(change.units.size(), "unit"), one.units.size()), 2);
  for (const HalfDone& unit : one.units) out += standby_line(screen, unit);
  return out;
}

/// What has become of all units of the change, those that ended before it broke off among them.
std::string counts_of(const Recovered& one) {
  std::vector<std::string> words;
  for (const records::UnitOutcome& unit : one.was.change.units) {
    const auto ended =
        std::find_if(one.units.begin(), one.units.end(),
                     [&](const change::UnitResult& result) { return result.unit == unit.unit; });
    words.push_back(ended == one.units.end() ? unit.outcome : std::string(outcome_name(ended->outcome)));
  }
  return summary(outcome_words(), words);
}

/// What is to be done about a change that is unfinished still.
std::string next_text(const Recovered& one) {
  const bool records = std::any_of(one.units.begin(), one.units.end(),
                                   [](const change::UnitResult& unit) { return unit.records_failed; });
  if (records) return "When its records can be written: vergeset recover";
  if (!one.stopped.empty()) return "Next: vergeset recover";
  return "When they can be reached: vergeset recover. To put them on record as needing attention: vergeset "
         "recover --give-up";
}

std::string end_text(const Screen& screen, const Recovered& one) {
  const std::string name = "change " + records::change_name(one.was.change.number);
  std::string out;
  if (!one.stopped.empty()) out += paragraph(screen, "stopped: " + one.stopped);
  if (one.ended) return out + fmt::format("{} has ended, {}\n", name, counts_of(one));
  out += paragraph(
      screen, fmt::format("{} is unfinished still: {}. {}", name, joined(one.unfinished), next_text(one)));
  return out;
}

}  // namespace

std::string unfinished_text(const Screen& screen, const std::vector<Unfinished>& changes) {
  std::string out;
  for (const Unfinished& one : changes) out += one_unfinished(screen, one);
  return out;
}

std::string recover_end_text(const Screen& screen, const std::vector<Recovered>& changes) {
  std::string out;
  for (const Recovered& one : changes) out += end_text(screen, one);
  return out;
}

}  // namespace vergeset::report
