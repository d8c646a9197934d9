#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <map>
#include <set>
#include <string>

#include "change/audit.h"
#include "cli/live.h"
#include "records/audit_record.h"

namespace vergeset::cli {

/// Audits of units that have sent a notification. Each begins a while after it, so that a unit that has just
/// started is up and a burst of notifications makes one audit; at most four are in hand, one a unit, and none
/// of a unit sooner than ten minutes after the one before, which puts one off and loses none. A unit that a
/// change has in hand is waited for: it is half way, and no drift. Factory credentials are not tried: that is
/// for the nightly audit. Each is kept as an audit of that unit alone, as `vergeset audit UNIT` would; it takes no
/// lock, as no audit does, so that it keeps nothing off a unit.
class ListenAudits {
 public:
  using Time = std::chrono::milliseconds;
  static constexpr std::size_t at_once = 4;

  /// `begins` and `ends` are told what is to stand in the unit's log and be shown.
  struct Told {
    std::function<void(const fleet::Unit&, const std::string&)> says;
    std::function<void(const change::Audited&, const std::string& record)> ends;
  };

  ListenAudits(Live& live, records::AuditHead head, Time after, Told told)
      : live_(live), head_(std::move(head)), after_(after), told_(std::move(told)) {}

  void want(const fleet::Unit& unit, Time now);
  /// Carries out audits that are due, until `ended`.
  snmp::Task<void> work(const bool& ended);

  std::size_t done() const { return done_; }

 private:
  const fleet::Unit* next(Time now);
  bool in_a_change(const fleet::Unit& unit);
  snmp::Task<void> audit(const fleet::Unit& unit);

  struct Due {
    Time at{0};
    int put_off = 0;
  };
  Live& live_;
  records::AuditHead head_;
  Time after_;
  Told told_;
  std::map<const fleet::Unit*, Due> due_;
  std::map<const fleet::Unit*, Time> begun_;  ///< in the last ten minutes
  std::set<const fleet::Unit*> in_hand_;
  std::size_t done_ = 0;
};

}  // namespace vergeset::cli
