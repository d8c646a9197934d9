#include "records/clock.h"
#include "report/history_text.h"
#include "report/json.h"
#include "report/standing_words.h"

namespace vergeset::report {

namespace {

Json nights_json(const Standing& standing, const UnitStanding& unit) {
  Json out = Json::array();
  for (std::size_t i = 0; i < unit.nights.size(); ++i) {
    if (unit.nights[i] == Stood::not_audited && !unit.changed[i]) continue;
    out.push_back({{"night", night_text(standing.first_night() + static_cast<std::int64_t>(i))},
                   {"stood", stood_name(unit.nights[i])},
                   {"changed", static_cast<bool>(unit.changed[i])}});
  }
  return out;
}

Json endings_json(const Standing& standing, const UnitStanding& unit) {
  Json out = Json::array();
  for (const Ending& one : endings(*standing.fleet, unit, standing.made))
    out.push_back(
        {{"what", one.what}, {"at", records::stamp(one.at)}, {"or_later", one.or_later}, {"soon", one.soon}});
  return out;
}

Json standing_unit_json(const Standing& standing, const UnitStanding& unit) {
  Json findings = Json::array();
  Json differences = Json::array();
  if (unit.now) {
    for (const records::AuditedFinding& one : all_findings(*unit.now))
      findings.push_back(
          {{"rule", one.rule}, {"severity", severity_of(one)}, {"text", one.text}, {"source", one.source}});
    for (const records::AuditedDifference& one : unit.now->differences) differences.push_back(one.name);
  }
  Json changes = Json::array();
  for (const UnitChange& one : unit.changes)
    changes.push_back({{"change", standing.changes[one.change].number},
                       {"outcome", one.outcome},
                       {"what", one.what},
                       {"off_air_ms", one.off_air_ms}});
  return {{"unit", unit.unit->name},
          {"stands", stood_name(unit.stands())},
          {"what", unit.now ? unit.now->what : ""},
          {"audited", unit.now ? Json(records::stamp(unit.audited)) : Json(nullptr)},
          {"differences", std::move(differences)},
          {"findings", std::move(findings)},
          {"ends", endings_json(standing, unit)},
          {"off_air_ms", unit.off_air_ms()},
          {"changes", std::move(changes)},
          {"nights", nights_json(standing, unit)}};
}

}  // namespace

Json standing_json(const Standing& standing) {
  Json units = Json::array();
  for (const UnitStanding& unit : standing.units) units.push_back(standing_unit_json(standing, unit));
  Json out = document("report");
  out["fleet"] = standing.fleet->name;
  out["made"] = records::stamp(standing.made);
  out["audited"] = standing.audit_begun == 0 ? Json(nullptr) : Json(records::stamp(standing.audit_begun));
  out["first_night"] = night_text(standing.first_night());
  out["last_night"] = night_text(standing.last_night);
  out["notes"] = notes(standing);
  out["changes"] = changes_json(standing.changes);
  out["units"] = std::move(units);
  return out;
}

}  // namespace vergeset::report
