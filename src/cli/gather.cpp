#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <memory>

#include "change/swaps.h"
#include "cli/audit_keep.h"
#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/part_audits.h"
#include "cli/print.h"
#include "records/clock.h"
#include "records/lock.h"
#include "report/audit_text.h"
#include "report/factory_text.h"
#include "report/json.h"
#include "report/kept_audit.h"
#include "report/missing_text.h"
#include "smi/words.h"

namespace vergeset::cli {

namespace {

struct GatherOptions {
  Common common;
  std::vector<std::string> paths;
  std::string since;
  bool full = false;
};

/// The parts as one: the units that their audits hold, in the order of an audit of all.
struct Gathered {
  std::vector<change::Audited> units;
  std::vector<report::Missing> missing;
};

/// Where the kept results of units are, by name.
using Kept = std::map<std::string, const records::AuditedUnit*>;

fleet::Choice choice_of(const records::AuditHead& head) {
  return {head.choice.units, head.choice.groups, head.choice.models, head.choice.except};
}

/// Why the audits are not of the fleet that is here as it stands; empty where they are.
std::string not_of(const fleet::Fleet& fleet, const PartAudit& audit) {
  const records::AuditHead& head = audit.record.head;
  if (head.fleet != fleet.name) {
    return fmt::format("{} is of the fleet {}, the files in {} are of {}", audit.path, smi::shown(head.fleet),
                       fleet.folder, smi::shown(fleet.name));
  }
  if (head.files == digest_of_files(fleet)) return {};
  return fmt::format(
      "{} was audited against other files than those in {}; gather with the files as they were then",
      audit.path, fleet.folder);
}

/// Adds what one audit holds; empty, or what does not belong in it.
std::string add(const PartAudit& audit, const std::map<std::string, const fleet::Unit*>& chosen, Kept& kept) {
  for (const records::AuditedUnit& unit : audit.record.units) {
    const bool own =
        chosen.count(unit.unit) > 0 && fleet::part_of(unit.unit, audit.part.of) == audit.part.number;
    if (!own) return fmt::format("{} holds {}, which is not of its part", audit.path, unit.unit);
    if (!kept.emplace(unit.unit, &unit).second)
      return fmt::format("{} holds {} twice", audit.path, unit.unit);
  }
  return {};
}

Result<Kept> kept_in(const std::vector<PartAudit>& audits, const std::vector<const fleet::Unit*>& units) {
  std::map<std::string, const fleet::Unit*> chosen;
  for (const fleet::Unit* unit : units) chosen.emplace(unit->name, unit);
  Kept kept;
  for (const PartAudit& audit : audits) {
    if (std::string why = add(audit, chosen, kept); !why.empty()) return Problem{why};
  }
  return kept;
}

/// Parts that lack units, by number.
std::vector<report::Missing> missing_from(const std::vector<PartAudit>& audits,
                                          const std::vector<const fleet::Unit*>& units, const Kept& kept) {
  const std::uint32_t of = audits.front().part.of;
  std::map<std::uint32_t, report::Missing> by_part;
  for (const fleet::Unit* unit : units) {
    if (kept.count(unit->name) > 0) continue;
    const std::uint32_t number = fleet::part_of(unit->name, of);
    by_part[number].units.push_back(unit->name);
  }
  std::vector<report::Missing> missing;
  for (auto& [number, one] : by_part) {
    one.part = fmt::format("{}/{}", number, of);
    one.audited = std::any_of(audits.begin(), audits.end(),
                              [n = number](const PartAudit& audit) { return audit.part.number == n; });
    missing.push_back(std::move(one));
  }
  return missing;
}

Result<Gathered> gathered(const std::vector<PartAudit>& audits, const fleet::Fleet& fleet) {
  const auto units = chosen(fleet, choice_of(audits.front().record.head));
  if (!units) return Problem{units.problem()};
  const auto kept = kept_in(audits, *units);
  if (!kept) return Problem{kept.problem()};
  Gathered all;
  for (const fleet::Unit* unit : *units) {
    const auto found = kept->find(unit->name);
    if (found == kept->end()) continue;
    auto audited = report::from_kept(*found->second, *unit);
    if (!audited) return Problem{"these audits do not fit the models here: " + audited.problem()};
    all.units.push_back(*std::move(audited));
  }
  change::tell_swaps(fleet, all.units);
  all.missing = missing_from(audits, *units, *kept);
  return all;
}

/// "whole", or "1, 2, 4 of 4".
std::string parts_text(const std::vector<PartAudit>& audits, const Gathered& all) {
  if (all.missing.empty()) return "whole";
  std::string text;
  for (const PartAudit& audit : audits) {
    text += fmt::format("{}{}", text.empty() ? "" : ", ", audit.part.number);
  }
  return fmt::format("{} of {}", text, audits.front().part.of);
}

/// Stamps sort as times do.
records::AuditHead head_of(const std::vector<PartAudit>& audits, const Gathered& all) {
  records::AuditHead head = audits.front().record.head;
  head.who = who_am_i();
  head.part = parts_text(audits, all);
  for (const PartAudit& audit : audits) {
    head.begun = std::min(head.begun, audit.record.head.begun);
    head.ended = std::max(head.ended, audit.record.head.ended);
  }
  return head;
}

report::Json parts_json(const std::vector<PartAudit>& audits) {
  report::Json out = report::Json::array();
  for (const PartAudit& audit : audits) {
    const records::AuditHead& head = audit.record.head;
    out.push_back({{"part", head.part},
                   {"audit", audit.path},
                   {"who", head.who},
                   {"begun", head.begun},
                   {"ended", head.ended},
                   {"units", audit.record.units.size()}});
  }
  return out;
}

void show(const GatherOptions& options, const records::AuditHead& head, const std::string& record,
          const std::vector<PartAudit>& audits, const Gathered& all) {
  if (options.common.json) {
    report::Json document = report::document("gather");
    document["fleet"] = head.fleet;
    document["record"] = record;
    document["parts"] = parts_json(audits);
    document["missing"] = report::missing_json(all.missing);
    document["units"] = report::audit_json(all.units);
    return print(report::dump(document));
  }
  report::Screen screen = screen_here();
  screen.full = options.full;
  print(report::factory_text(screen, all.units) + report::audit_text(screen, all.units) +
        report::missing_text(screen, all.missing));
}

int status_of(const Gathered& all) {
  int status = all.missing.empty() ? Exit::done : Exit::no_answer;
  for (const change::Audited& unit : all.units) status = std::max<int>(status, exit_of(unit));
  return status;
}

int gather(const GatherOptions& options) {
  const auto since = options.since.empty() ? std::optional<std::int64_t>(0) : time_given(options.since);
  if (!since)
    return complain("--since: expected a time in UTC as in 2026-11-25T02:00Z, found " + options.since);
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const std::string folder = options.common.records_folder();
  if (const std::string why = records::cannot_write(folder); !why.empty()) return complain(why);
  const auto audits = part_audits(options.paths, *since);
  if (!audits) return complain(audits.problem());
  if (const std::string why = not_of(*fleet, audits->front()); !why.empty()) return complain(why);
  const auto all = gathered(*audits, *fleet);
  if (!all) return complain(all.problem());
  const records::AuditHead head = head_of(*audits, *all);
  records::FolderDisk disk(folder);
  const std::string record = keep(disk, head, all->units);
  show(options, head, record, *audits, *all);
  return status_of(*all);
}

}  // namespace

Command gather_command() {
  const auto options = std::make_shared<GatherOptions>();
  return {
      "gather",
      "Merges the audits of parts (--part K/N) into one; asks no unit.",
      {{"",
        {{"PATH", "", "kept audits, or folders of records: the newest of each part", &options->paths, true},
         {"--since", "TIME", "none that began earlier (UTC: 2026-11-25T02:00Z)", &options->since},
         {"--full", "", "long octet strings whole", &options->full}}},
       section_of(options->common)},
      "vergeset gather /srv/parts/*",
      [options] { return gather(*options); }};
}

}  // namespace vergeset::cli
