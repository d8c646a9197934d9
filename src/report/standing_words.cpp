#include "report/standing_words.h"

#include <fmt/format.h>

#include <algorithm>

#include "checks/message_rows.h"
#include "report/history_text.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

constexpr std::int64_t hour_ms = 3600000;
constexpr std::int64_t month_ms = 30 * 24 * hour_ms;

void add_messages(const fleet::Unit& unit, std::int64_t now, std::vector<Ending>& out) {
  for (const checks::MessageRow& row : checks::message_rows(unit)) {
    if (!row.stop || *row.stop * 100 <= now) continue;
    const std::int64_t at = *row.stop * 100;
    out.push_back({row.name + " is sent", at, false, at - now <= month_ms});
  }
}

}  // namespace

std::vector<records::AuditedFinding> all_findings(const records::AuditedUnit& unit) {
  std::vector<records::AuditedFinding> all;
  for (const records::FactoryTry& door : unit.doors) {
    if (door.result == records::FactoryTry::Result::opens)
      all.push_back(
          {"factory-door", "error", door.name + " opens it, as from the factory", "common practice"});
  }
  all.insert(all.end(), unit.health.begin(), unit.health.end());
  return all;
}

std::vector<Ending> endings(const fleet::Fleet& fleet, const UnitStanding& unit, std::int64_t now) {
  std::vector<Ending> all;
  if (unit.now) {
    const auto least =
        static_cast<std::int64_t>(fleet.limits.certificate_left_h * static_cast<double>(hour_ms));
    for (const records::Expiry& one : unit.now->ends) {
      if (one.at > now)
        all.push_back({one.what, one.at, one.or_later, one.at - now <= (one.renewed ? least : month_ms)});
    }
  }
  add_messages(*unit.unit, now, all);
  std::stable_sort(all.begin(), all.end(), [](const Ending& a, const Ending& b) { return a.at < b.at; });
  return all;
}

std::string severity_of(const records::AuditedFinding& finding) {
  return finding.severity.empty() ? "warning" : finding.severity;
}

std::string names_text(const std::vector<std::string>& names, std::size_t most) {
  std::string text;
  const std::size_t told = names.size() <= most + 1 ? names.size() : most;
  for (std::size_t i = 0; i < told; ++i) {
    const bool last = i + 1 == names.size() && i > 0;
    text += (i == 0 ? "" : last ? " and " : ", ") + names[i];
  }
  return told == names.size() ? text : text + fmt::format(" and {} more", names.size() - told);
}

std::vector<std::string> notes(const Standing& standing) {
  std::vector<std::string> all;
  if (standing.audit_begun == 0)
    all.emplace_back("There is no audit in these nights: vergeset audit makes one.");
  for (const records::ChangeRecord& change : standing.changes) {
    if (change.ended.empty())
      all.push_back(fmt::format("Change {} {}.", records::change_name(change.number), unfinished_words()));
  }
  if (!standing.unread.empty())
    all.push_back(fmt::format("{} could not be read: {}.", counted(standing.unread.size(), "record"),
                              names_text(standing.unread, 1)));
  return all;
}

}  // namespace vergeset::report
