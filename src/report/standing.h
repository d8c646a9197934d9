#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "records/audit_record.h"
#include "records/change_record.h"

namespace vergeset::report {

/// How a unit stood in one night, as the newest audit of that night found it.
enum class Stood { not_audited, agrees, drifted, no_answer, wrong_unit };

/// What a change did to a unit; `change` counts in Standing::changes.
struct UnitChange {
  std::size_t change = 0;
  std::string outcome;
  std::string what;
  std::int64_t off_air_ms = 0;
};

/// What the records say of one unit.
struct UnitStanding {
  const fleet::Unit* unit = nullptr;
  std::optional<records::AuditedUnit> now;  ///< as its newest audit found it
  std::int64_t audited = 0;                 ///< when that began, milliseconds since 1970
  std::int64_t night = 0;
  std::optional<records::AuditedUnit> before;  ///< as the newest audit of an earlier night did
  std::vector<Stood> nights;                   ///< oldest first
  std::vector<bool> changed;                   ///< in which of them we changed it
  std::vector<UnitChange> changes;             ///< those that sent it a SET, oldest first

  Stood stands() const;
  std::int64_t off_air_ms() const;
};

/// A fleet at a glance: what its records say of it, over so many nights. Nights are days since 1970-01-01; a
/// night is that of the day on whose morning it ends, and lasts from noon to noon on the clocks of the fleet.
struct Standing {
  const fleet::Fleet* fleet = nullptr;
  std::int64_t made = 0;  ///< milliseconds since 1970
  std::int64_t last_night = 0;
  std::vector<UnitStanding> units;             ///< as chosen
  std::vector<records::ChangeRecord> changes;  ///< begun within these nights, oldest first; without `files`
  std::vector<std::int64_t> change_nights;     ///< in which night each of them was begun
  std::int64_t off_air_ever_ms = 0;            ///< of these units in all changes on record
  std::vector<std::string> unread;             ///< records that could not be read: path and why
  /// Of the newest audit that was not of units by their names: that one of them was audited in between makes
  /// the fleet's no younger. Where all were by name, of the newest of these; 0: there is none.
  std::int64_t audit_begun = 0;
  std::int64_t audit_ended = 0;

  std::size_t nights() const { return units.empty() ? 0 : units.front().nights.size(); }
  std::int64_t first_night() const { return last_night + 1 - static_cast<std::int64_t>(nights()); }
};

std::optional<Stood> stood_named(std::string_view verdict);
/// The verdicts of the design, and "not audited".
std::string_view stood_name(Stood stood);

/// "2026-11-26" of a night.
std::string night_text(std::int64_t night);

/// Takes records one at a time, so that no more of them is held than is shown: of each unit its newest audit,
/// the one of the night before, and a mark for each other night.
/// An audit from before the first night tells nothing here.
class StandingMaker {
 public:
  /// In which night a time lies.
  using NightOf = std::function<std::int64_t(std::int64_t milliseconds)>;

  StandingMaker(const fleet::Fleet& fleet, const std::vector<const fleet::Unit*>& units, std::size_t nights,
                std::int64_t now, std::int64_t last_night, NightOf night_of);

  /// The text of an audit, the newest first.
  void take_audit(const std::string& path, const std::string& text);
  /// Oldest first.
  void take_change(records::ChangeRecord change);
  void take_unread(std::string path_and_why) { standing_.unread.push_back(std::move(path_and_why)); }

  Standing take() { return std::move(standing_); }

 private:
  UnitStanding* find(const std::string& unit);
  void take_time(const records::AuditHead& head, std::int64_t begun);
  void take_unit(std::int64_t begun, std::int64_t night, const records::AuditLine& line);
  void mark(UnitStanding& unit, std::int64_t night, std::string_view verdict) const;

  NightOf night_of_;
  Standing standing_;
  std::map<std::string, std::size_t, std::less<>> by_name_;
  bool fleet_audit_ = false;  ///< the newest audit is not of units by their names
};

}  // namespace vergeset::report
