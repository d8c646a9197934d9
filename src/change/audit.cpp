#include "change/audit.h"

#include <fmt/format.h>

#include <cmath>

#include "change/compare.h"
#include "change/identify.h"
#include "change/logged_link.h"
#include "change/message_revisions.h"
#include "change/survey.h"
#include "change/swaps.h"
#include "checks/certificates.h"
#include "checks/counted.h"
#include "checks/position.h"
#include "records/unit_log.h"

namespace vergeset::change {

namespace {

bool failed(Verdict verdict) {
  return verdict == Verdict::no_answer || verdict == Verdict::wrong_unit;
}

/// "8 requests, 1 sent again, 1 answered late": how good the way to the unit is.
std::string traffic_text(const snmp::Traffic& traffic) {
  std::string text = fmt::format("{} request{}", traffic.requests, traffic.requests == 1 ? "" : "s");
  if (traffic.again > 0) text += fmt::format(", {} sent again", traffic.again);
  if (traffic.late > 0) text += fmt::format(", {} answered late", traffic.late);
  return text;
}

void not_reached(const World& world, const fleet::Unit& unit, const snmp::Error& error, Audited& out) {
  const std::string stranger = stranger_text(world, unit, error);
  if (!stranger.empty()) out.verdict = Verdict::wrong_unit;
  out.what = stranger.empty() ? error.text : stranger;
  out.refused_us = refuses_user(error.failure);
}

/// Reads `wanted` of a unit into `out`; the verdict is `agrees` where it was read and is the right one.
snmp::Task<void> look_at(const World& world, const fleet::Unit& unit, Wanted wanted, records::UnitLog& log,
                         Audited& out) {
  snmp::Opened opened = co_await open_link(world, unit);
  if (!opened) {
    log.line("no link: " + opened.error.text);
    not_reached(world, unit, opened.error, out);
    co_return;
  }
  LoggedLink link(std::move(opened.link), log, *unit.model);
  Surveyed surveyed = co_await survey(link, std::move(wanted));
  out.traffic = link.traffic();
  if (!surveyed) {
    not_reached(world, unit, *surveyed.error, out);
    co_return;
  }
  remember_engine(world, unit, link);
  out.found = std::move(surveyed.found);
  out.found.taken = records::stamp(world.clock.now());
  out.position =
      found_at(checks::position_of(as_read(*unit.model, out.found), unit.site, world.fleet.limits));
  if (const auto wrong = wrong_unit(world.fleet, unit, out.found)) {
    out.verdict = Verdict::wrong_unit;
    out.what = *wrong;
    co_return;
  }
  know(world, unit, link, log);
  co_await read_details(link, *unit.model, out.found);
  out.traffic = link.traffic();
  out.verdict = Verdict::agrees;
}

void judge(const fleet::Fleet& fleet, const fleet::Unit& unit, const records::Counted* before, Audited& out) {
  out.comparison = compare(unit, out.found);
  const checks::AsRead read = as_read(*unit.model, out.found);
  out.counted = checks::count(read, fleet, unit, before);
  out.health = checks::health(fleet, unit, read, before, &out.counted);
  out.ends = checks::certificate_ends(read);
  add_revision_findings(fleet, out.comparison, out.health);
  if (!out.comparison.agrees()) out.verdict = Verdict::drifted;
}

snmp::Task<void> audit_one(const World& world, const fleet::Unit& unit, std::string purpose,
                           const records::Counted* before, Audited& out) {
  if (world.progress != nullptr) world.progress->begins();
  records::UnitLog log(world.disk, world.clock, unit.name, std::move(purpose));
  Wanted wanted = wanted_of(world.fleet, unit);
  co_await look_at(world, unit, std::move(wanted), log, out);
  if (out.verdict == Verdict::agrees) {
    judge(world.fleet, unit, before, out);
  } else if (before != nullptr) {
    out.counted = *before;
  }
  // Each piece of a unit that is kept keeps the freed memory around it from being put together.
  out.found.instances.clear();
  out.found.engine_id = std::string();
  log.line(fmt::format("ends {}{}{}; {}", verdict_name(out.verdict), out.what.empty() ? "" : ": ", out.what,
                       traffic_text(out.traffic)));
  log.flush();
  if (world.progress != nullptr) world.progress->ends(failed(out.verdict));
}

snmp::Task<void> read_one(const World& world, const fleet::Unit& unit, bool whole, Audited& out) {
  if (world.progress != nullptr) world.progress->begins();
  records::UnitLog log(world.disk, world.clock, unit.name, "survey");
  Wanted wanted = whole ? wanted_whole(*unit.model) : wanted_of(world.fleet, unit);
  co_await look_at(world, unit, std::move(wanted), log, out);
  log.flush();
  if (world.progress != nullptr) world.progress->ends(failed(out.verdict));
}

/// One for each unit, in their order.
std::vector<Audited> each(const World& world, const std::vector<const fleet::Unit*>& units,
                          std::size_t at_once,
                          const std::function<snmp::Task<void>(const fleet::Unit&, Audited&)>& look) {
  std::vector<Audited> all(units.size());
  const auto begin = [&](std::size_t i) {
    all[i].unit = units[i];
    return look(*units[i], all[i]);
  };
  world.network.run_each(units.size(), begin, at_once);
  if (world.known != nullptr) world.known->keep(world.disk);
  return all;
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
                           const std::string& purpose, std::size_t at_once, const Before& before) {
  auto audited = each(world, units, at_once, [&](const fleet::Unit& unit, Audited& out) {
    const auto counted = before.find(unit.name);
    return audit_one(world, unit, purpose, counted == before.end() ? nullptr : &counted->second, out);
  });
  tell_swaps(world.fleet, audited);
  return audited;
}

snmp::Task<Audited> audit_unit(const World& world, const fleet::Unit& unit, std::string purpose,
                               const records::Counted* before) {
  Audited audited;
  audited.unit = &unit;
  co_await audit_one(world, unit, std::move(purpose), before, audited);
  if (world.known != nullptr) world.known->keep(world.disk);
  co_return audited;
}

records::FoundAt found_at(const checks::Position& position) {
  // To a millimetre and a hundredth of a degree: what is finer is no one's, and long in records.
  const auto rounded = [](double number, double parts) { return std::round(number * parts) / parts; };
  records::FoundAt out;
  const checks::FoundPosition& found = position.found;
  out.unknown = found.unknown;
  if (!found.at) return out;
  out.latitude = rounded(found.at->latitude, 1e8);
  out.longitude = rounded(found.at->longitude, 1e8);
  if (const auto height = found.above_sea ? found.above_sea : found.above_ellipsoid)
    out.height = rounded(*height, 1000);
  if (position.from_survey.way) {
    out.away = rounded(position.from_survey.way->metres, 1000);
    out.bearing = rounded(position.from_survey.way->bearing, 100);
  }
  return out;
}

std::vector<Audited> read_units(const World& world, const std::vector<const fleet::Unit*>& units, bool whole,
                                std::size_t at_once) {
  return each(world, units, at_once,
              [&](const fleet::Unit& unit, Audited& out) { return read_one(world, unit, whole, out); });
}

}  // namespace vergeset::change
