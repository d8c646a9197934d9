#include "report/standing.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

#include "change/audit.h"
#include "change/outcome.h"
#include "records/clock.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

constexpr Stood all_stood[] = {Stood::not_audited, Stood::agrees, Stood::drifted, Stood::no_answer,
                               Stood::wrong_unit};

std::int64_t time_of(const std::string& stamp) {
  return records::milliseconds_of(stamp).value_or(0);
}

/// Whether a change sent a unit anything, as far as its records say.
bool touched(const records::UnitOutcome& unit) {
  return unit.steps > 0 || unit.off_air_ms > 0 || unit.outcome == outcome_name(change::Outcome::settled) ||
         unit.outcome == outcome_name(change::Outcome::restored) ||
         unit.outcome == outcome_name(change::Outcome::needs_attention);
}

}  // namespace

std::string_view stood_name(Stood stood) {
  switch (stood) {
    case Stood::agrees:
      return verdict_name(change::Verdict::agrees);
    case Stood::drifted:
      return verdict_name(change::Verdict::drifted);
    case Stood::no_answer:
      return verdict_name(change::Verdict::no_answer);
    case Stood::wrong_unit:
      return verdict_name(change::Verdict::wrong_unit);
    case Stood::not_audited:
      break;
  }
  return "not audited";
}

std::optional<Stood> stood_named(std::string_view verdict) {
  for (const Stood stood : all_stood) {
    if (stood != Stood::not_audited && stood_name(stood) == verdict) return stood;
  }
  return std::nullopt;
}

std::string night_text(std::int64_t night) {
  const std::chrono::year_month_day day{std::chrono::sys_days(std::chrono::days(night))};
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(day.year()), static_cast<unsigned>(day.month()),
                     static_cast<unsigned>(day.day()));
}

Stood UnitStanding::stands() const {
  return now ? stood_named(now->verdict).value_or(Stood::not_audited) : Stood::not_audited;
}

std::int64_t UnitStanding::off_air_ms() const {
  std::int64_t sum = 0;
  for (const UnitChange& one : changes) sum += one.off_air_ms;
  return sum;
}

StandingMaker::StandingMaker(const fleet::Fleet& fleet, const std::vector<const fleet::Unit*>& units,
                             std::size_t nights, std::int64_t now, std::int64_t last_night, NightOf night_of)
    : night_of_(std::move(night_of)) {
  standing_.fleet = &fleet;
  standing_.made = now;
  standing_.last_night = last_night;
  for (const fleet::Unit* unit : units) {
    by_name_.emplace(unit->name, standing_.units.size());
    UnitStanding one;
    one.unit = unit;
    one.nights.assign(nights, Stood::not_audited);
    one.changed.assign(nights, false);
    standing_.units.push_back(std::move(one));
  }
}

UnitStanding* StandingMaker::find(const std::string& unit) {
  const auto found = by_name_.find(unit);
  return found == by_name_.end() ? nullptr : &standing_.units[found->second];
}

void StandingMaker::mark(UnitStanding& unit, std::int64_t night, std::string_view verdict) const {
  const std::int64_t at = night - standing_.first_night();
  if (at < 0 || night > standing_.last_night) return;
  Stood& stood = unit.nights[static_cast<std::size_t>(at)];
  if (stood == Stood::not_audited) stood = stood_named(verdict).value_or(Stood::not_audited);
}

void StandingMaker::take_unit(std::int64_t begun, std::int64_t night, const records::AuditLine& line) {
  UnitStanding* const unit = find(line.unit);
  if (unit == nullptr) return;
  mark(*unit, night, line.verdict);
  if (!unit->now) {
    unit->audited = begun;
    unit->night = night;
    unit->now = line.whole();
  } else if (!unit->before && night < unit->night) {
    unit->before = line.whole();
  }
}

void StandingMaker::take_time(const records::AuditHead& head, std::int64_t begun) {
  const bool named = !head.choice.units.empty();
  if (standing_.audit_begun != 0 && (named || fleet_audit_)) return;
  fleet_audit_ = !named;
  standing_.audit_begun = begun;
  standing_.audit_ended = time_of(head.ended);
}

void StandingMaker::take_audit(const std::string& path, const std::string& text) {
  const auto head = records::read_audit_head(text);
  if (!head) {
    take_unread(path + ": " + head.problem());
    return;
  }
  if (head->fleet != standing_.fleet->name) return;
  const std::int64_t begun = time_of(head->begun);
  const std::int64_t night = night_of_(begun);
  if (night < standing_.first_night()) return;
  take_time(*head, begun);
  const auto read =
      records::read_audit(text, [&](const records::AuditLine& line) { take_unit(begun, night, line); });
  if (!read) take_unread(path + ": " + read.problem());
}

void StandingMaker::take_change(records::ChangeRecord change) {
  const std::int64_t night = std::min(night_of_(time_of(change.begun)), standing_.last_night);
  const std::int64_t at = night - standing_.first_night();
  if (change.fleet != standing_.fleet->name) return;
  for (const records::UnitOutcome& one : change.units) {
    if (find(one.unit) != nullptr) standing_.off_air_ever_ms += one.off_air_ms;
  }
  if (at < 0) return;
  const std::size_t number = standing_.changes.size();
  for (const records::UnitOutcome& one : change.units) {
    UnitStanding* const unit = touched(one) ? find(one.unit) : nullptr;
    if (unit == nullptr) continue;
    unit->changes.push_back({number, one.outcome, one.what, one.off_air_ms});
    unit->changed[static_cast<std::size_t>(at)] = true;
  }
  change.files.clear();
  standing_.changes.push_back(std::move(change));
  standing_.change_nights.push_back(night);
}

}  // namespace vergeset::report
