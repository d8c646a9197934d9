#include "cli/listen_audits.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "records/clock.h"
#include "records/unfinished.h"
#include "report/kept_audit.h"

namespace vergeset::cli {

namespace {

constexpr std::chrono::milliseconds apart = std::chrono::minutes(10);
constexpr std::chrono::milliseconds put_off_by = std::chrono::minutes(1);
constexpr int most_put_off = 60;
constexpr std::chrono::milliseconds look_again{500};
constexpr std::chrono::milliseconds changes_known_for{2000};
constexpr std::chrono::milliseconds one_record = std::chrono::minutes(1);
constexpr std::size_t most_in_record = 256;

}  // namespace

void ListenAudits::want(const fleet::Unit& unit, Time now) {
  if (due_.count(&unit) > 0) return;
  const auto last = begun_.find(&unit);
  const Time soonest = last == begun_.end() ? now : last->second + apart;
  due_[&unit] = {std::max(now + after_, soonest), 0};
}

/// The one that has been due for longest; it is no longer waited for then.
const fleet::Unit* ListenAudits::next(Time now) {
  std::erase_if(begun_, [&](const auto& one) { return now - one.second >= apart; });
  const fleet::Unit* found = nullptr;
  Time earliest = now;
  for (const auto& [unit, due] : due_) {
    if (due.at > earliest || in_hand_.count(unit) > 0) continue;
    found = unit;
    earliest = due.at;
  }
  if (found == nullptr) return nullptr;
  if (in_a_change(*found, now)) {
    Due& due = due_[found];
    due.at = now + put_off_by;
    if (++due.put_off > most_put_off) {
      due_.erase(found);
      told_.says(*found, "no audit: a change still has this unit half done; see `vergeset recover`");
    }
    return nullptr;
  }
  due_.erase(found);
  begun_[found] = now;
  return found;
}

/// Asked of the records, and of none of their locks: to try one is to keep a change off for a moment.
bool ListenAudits::in_a_change(const fleet::Unit& unit, Time now) {
  if (!asked_ || now - *asked_ >= changes_known_for) {
    asked_ = now;
    half_done_.clear();
    for (const records::Unfinished& one : records::unfinished_changes(live_.disk)) {
      for (const records::HalfDone& half : one.units) half_done_.insert(half.unit);
    }
  }
  return half_done_.count(unit.name) > 0;
}

snmp::Task<void> ListenAudits::work(const bool& ended) {
  while (!ended) {
    const Time now = live_.network.now();
    const fleet::Unit* const unit = next(now);
    if (unit == nullptr) {
      if (!names_.empty() && (in_hand_.empty() || now - first_ >= one_record)) keep();
      co_await live_.network.sleep(look_again);
      continue;
    }
    in_hand_.insert(unit);
    co_await audit(*unit);
    in_hand_.erase(unit);
    if (names_.size() >= most_in_record) keep();
  }
}

void ListenAudits::keep() {
  if (names_.empty()) return;
  records::AuditHead head = head_;
  head.choice.units = std::exchange(names_, {});
  head.begun = begun_at_;
  head.ended = records::stamp(live_.clock.now());
  const std::string record = records::keep_audit(live_.disk, head, std::exchange(text_, {}));
  told_.kept(record, head.choice.units.size());
}

snmp::Task<void> ListenAudits::audit(const fleet::Unit& unit) {
  told_.says(unit, "audit, since it sent a notification");
  const std::string begun = records::stamp(live_.clock.now());
  std::set<std::string> names;
  names.insert(unit.name);
  const auto counted = records::last_counted(live_.disk, std::move(names));
  const auto before = counted.find(unit.name);
  const records::Counted* const last = before == counted.end() ? nullptr : &before->second;
  const change::Audited audited = co_await change::audit_unit(live_.world, unit, "audit", last);
  if (names_.empty()) {
    begun_at_ = begun;
    first_ = live_.network.now();
  }
  text_.add(report::kept(audited));
  names_.push_back(unit.name);
  ++done_;
  told_.ends(audited);
}

}  // namespace vergeset::cli
