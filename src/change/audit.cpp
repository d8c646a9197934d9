#include "change/audit.h"

#include "change/compare.h"
#include "change/identify.h"
#include "change/logged_link.h"
#include "change/survey.h"
#include "records/unit_log.h"

namespace vergeset::change {

namespace {

/// Reads `wanted` of a unit into `out`; the verdict is `agrees` where it was read.
snmp::Task<void> look_at(const World& world, const fleet::Unit& unit, Wanted wanted, std::string purpose,
                         Audited& out) {
  out.unit = &unit;
  records::UnitLog log(world.disk, world.clock, unit.name, purpose);
  snmp::Opened opened = co_await open_link(world, unit);
  if (!opened) {
    log.line("no link: " + opened.error.text);
    out.what = opened.error.text;
    co_return;
  }
  LoggedLink link(std::move(opened.link), log, *unit.model);
  Surveyed surveyed = co_await survey(link, wanted);
  if (!surveyed) {
    out.what = surveyed.error->text;
    co_return;
  }
  out.found = std::move(surveyed.found);
  out.found.taken = records::stamp(world.clock.now());
  out.verdict = Verdict::agrees;
}

snmp::Task<void> audit_one(const World& world, const fleet::Unit& unit, std::string purpose, Audited& out,
                           const std::function<void(const Audited&)>& unit_ends) {
  Wanted wanted = wanted_of(world.fleet, unit);
  co_await look_at(world, unit, std::move(wanted), purpose, out);
  if (out.verdict == Verdict::agrees) {
    if (const auto wrong = wrong_unit(world.fleet, unit, out.found)) {
      out.verdict = Verdict::wrong_unit;
      out.what = *wrong;
    } else {
      out.comparison = compare(unit, out.found);
      out.health = checks::health(
          *unit.model, [&](const smi::Oid& instance) -> const smi::Value& { return out.found.at(instance); });
      if (!out.comparison.agrees()) out.verdict = Verdict::drifted;
    }
  }
  records::UnitLog log(world.disk, world.clock, unit.name, purpose);
  log.line("ends " + std::string(verdict_name(out.verdict)) + (out.what.empty() ? "" : ": " + out.what));
  log.flush();
  if (unit_ends) unit_ends(out);
}

}  // namespace

std::string_view verdict_name(Verdict verdict) {
  switch (verdict) {
    case Verdict::agrees:
      return "agrees";
    case Verdict::drifted:
      return "drifted";
    case Verdict::wrong_unit:
      return "wrong unit";
    case Verdict::no_answer:
      break;
  }
  return "no answer";
}

std::vector<Audited> audit(const World& world, const std::vector<const fleet::Unit*>& units,
                           const std::string& purpose, std::size_t at_once,
                           const std::function<void(const Audited&)>& unit_ends) {
  std::vector<Audited> all(units.size());
  std::vector<snmp::Task<void>> tasks;
  for (std::size_t i = 0; i < units.size(); ++i) {
    tasks.push_back(audit_one(world, *units[i], purpose, all[i], unit_ends));
  }
  world.network.run(std::move(tasks), at_once);
  return all;
}

std::vector<Audited> read_units(const World& world, const std::vector<const fleet::Unit*>& units, bool whole,
                                std::size_t at_once) {
  std::vector<Audited> all(units.size());
  std::vector<snmp::Task<void>> tasks;
  for (std::size_t i = 0; i < units.size(); ++i) {
    Wanted wanted = whole ? wanted_whole(*units[i]->model) : wanted_of(world.fleet, *units[i]);
    tasks.push_back(look_at(world, *units[i], std::move(wanted), "survey", all[i]));
  }
  world.network.run(std::move(tasks), at_once);
  return all;
}

}  // namespace vergeset::change
