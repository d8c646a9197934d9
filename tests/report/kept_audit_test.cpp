#include "report/kept_audit.h"

#include "catch.h"
#include "report/audit_text.h"
#include "report/json.h"
#include "sample.h"

using namespace vergeset;
using namespace vergeset::report;
using namespace vergeset::tests;

namespace {

change::Audited of(const fleet::Unit& unit, change::Difference difference) {
  change::Audited audited;
  audited.unit = &unit;
  audited.verdict = change::Verdict::drifted;
  audited.found.taken = "2026-11-25T02:00:00.000Z";
  audited.comparison.differences = {std::move(difference)};
  return audited;
}

change::Difference changed_row(bool remade) {
  change::Difference difference = new_row();
  difference.kind = change::Difference::Kind::change_row;
  difference.items.pop_back();
  const schema::Table& table = *model_here().table("rsuMsgRepeatStatusTable");
  difference.row.edit = table.edit;
  difference.row.needs_standby = remade;
  difference.items[0].cuts_off = true;
  return difference;
}

/// A mode that was asked for and not reached is told in words of its own.
change::Difference unreached_mode() {
  change::Difference difference =
      value_difference(item("rsuMode", "mode", smi::Value::integer(3), smi::Value::integer(3)));
  difference.items[0].found_words = "operate asked for, standby reached";
  difference.items[0].needs_standby = true;
  return difference;
}

change::Audited stuck(const fleet::Unit& unit) {
  change::Audited audited = of(unit, tolerance());
  audited.comparison.differences.clear();
  audited.comparison.obstacles = {"store-and-repeat map: no free row in rsuMsgRepeatStatusTable"};
  return audited;
}

change::Audited wrong(const fleet::Unit& unit) {
  change::Audited audited = silent(unit);
  audited.verdict = change::Verdict::wrong_unit;
  audited.what = "its rsuID is LK-900";
  audited.found.taken = "2026-11-25T02:00:00.000Z";
  return audited;
}

/// Through the text of a record and back.
change::Audited again(const change::Audited& audited) {
  const std::string stamp = "2026-11-25T02:00:00.000Z";
  const auto record = records::audit_from_json(
      records::to_json({{"Larkmoor", "ops@desk", "whole", {}, "", stamp, stamp}, {kept(audited)}}));
  REQUIRE(record);
  auto back = from_kept(record->units.at(0), *audited.unit);
  if (!back) FAIL(back.problem());
  return *std::move(back);
}

std::string shown(const std::vector<change::Audited>& units, bool full) {
  Screen screen = terminal();
  screen.full = full;
  return audit_text(screen, units);
}

std::string problem_of(const records::AuditedUnit& unit) {
  const fleet::Unit here = unit_here();
  const auto back = from_kept(unit, here);
  return back ? "none" : back.problem();
}

}  // namespace

TEST_CASE("an audit that was kept and read back shows what it showed, in text and in JSON") {
  const std::vector<fleet::Unit> units = {unit_here("LK-101"), unit_here("LK-102"), unit_here("LK-103"),
                                          unit_here("LK-104"), unit_here("LK-105"), unit_here("LK-106"),
                                          unit_here("LK-107"), unit_here("LK-108"), unit_here("LK-109")};
  change::Audited told = agreeing(units[1]);
  told.comparison.remarks = drifted(units[1]).comparison.remarks;
  const std::vector<change::Audited> audited = {drifted(units[0]),
                                                told,
                                                silent(units[2]),
                                                wrong(units[3]),
                                                of(units[4], gone_row()),
                                                of(units[5], changed_row(false)),
                                                of(units[6], changed_row(true)),
                                                of(units[7], unreached_mode()),
                                                stuck(units[8])};
  std::vector<change::Audited> back;
  for (const change::Audited& unit : audited) back.push_back(again(unit));
  CHECK(shown(back, false) == shown(audited, false));
  CHECK(shown(back, true) == shown(audited, true));
  CHECK(dump(audit_json(back)) == dump(audit_json(audited)));
}

TEST_CASE("what does not fit the unit's model is a problem that names the unit") {
  const fleet::Unit unit = unit_here();
  const records::AuditedUnit good = kept(drifted(unit));
  CHECK(problem_of(good) == "none");
  records::AuditedUnit bad = good;
  bad.differences[0].items[0].as_found.oid = smi::Oid{1, 3, 6, 1, 9, 9};
  bad.differences[0].items[0].as_found.name = "otherThing.0";
  CHECK(problem_of(bad) == "LK-104: NTCIP 1218 v01 has no object otherThing.0");
  bad = good;
  bad.differences[2].table = "otherTable";
  CHECK(problem_of(bad) == "LK-104: NTCIP 1218 v01 has no table otherTable");
  bad = good;
  bad.differences[0].items.clear();
  CHECK(problem_of(bad) == "LK-104: notify-address holds no value");
  bad = good;
  bad.differences[0].kind = "guess";
  CHECK(problem_of(bad) == "LK-104: no kind of difference: guess");
  bad = good;
  bad.remarks[0].kind = "gossip";
  CHECK(problem_of(bad) == "LK-104: no kind of remark: gossip");
  bad = good;
  bad.verdict = "fine";
  CHECK(problem_of(bad) == "LK-104: no verdict of an audit: fine");
}
