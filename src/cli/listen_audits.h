#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "change/audit.h"
#include "cli/live.h"
#include "records/audit_record.h"

namespace vergeset::cli {

/// Audits of units that have sent a notification. Each begins a while after it, so that a unit that has just
/// started is up and a burst of notifications makes one audit; at most four are in hand, one a unit, and none
/// of a unit sooner than ten minutes after the one before, which puts one off and loses none. A unit that a
/// change has in hand is waited for: it is half way, and no drift. Factory credentials are not tried: that is
/// for the nightly audit. What was audited is kept as `vergeset audit UNIT...` would; after a power cut, when
/// many units start anew, those of a minute are one record. No lock is taken, as by no audit, so that nothing
/// is kept off a unit.
class ListenAudits {
 public:
  using Time = std::chrono::milliseconds;
  static constexpr std::size_t at_once = 4;

  struct Told {
    std::function<void(const fleet::Unit&, const std::string&)> says;  ///< for the unit's log
    std::function<void(const change::Audited&)> ends;
    std::function<void(const std::string& record, std::size_t units)> kept;
  };

  ListenAudits(Live& live, records::AuditHead head, Time after, Told told)
      : live_(live), head_(std::move(head)), after_(after), told_(std::move(told)) {}

  void want(const fleet::Unit& unit, Time now);
  /// Carries out audits that are due, until `ended`.
  snmp::Task<void> work(const bool& ended);
  /// Keeps what has been audited and is not on record yet.
  void keep();

  std::size_t done() const { return done_; }

 private:
  const fleet::Unit* next(Time now);
  bool in_a_change(const fleet::Unit& unit, Time now);
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
  std::set<std::string> half_done_;  ///< by changes, as of `asked_`
  std::optional<Time> asked_;
  records::AuditText text_;  ///< of what is not on record yet
  std::vector<std::string> names_;
  std::string begun_at_;
  Time first_{0};
  std::size_t done_ = 0;
};

}  // namespace vergeset::cli
