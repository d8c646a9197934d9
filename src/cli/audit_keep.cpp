#include "cli/audit_keep.h"

#include <fmt/format.h>

#include <algorithm>

#include "change/apply.h"
#include "cli/print.h"
#include "fleet/part.h"
#include "records/change_record.h"
#include "records/clock.h"
#include "report/kept_audit.h"

namespace vergeset::cli {

namespace {

/// However it was spelt.
std::string part_of(const fleet::Choice& choice) {
  if (choice.part.empty()) return "whole";
  const auto part = fleet::part_named(choice.part);
  return part ? fmt::format("{}/{}", part->number, part->of) : choice.part;
}

}  // namespace

records::AuditHead head_of(const fleet::Fleet& fleet, const fleet::Choice& choice, std::int64_t begun) {
  records::AuditHead head;
  head.fleet = fleet.name;
  head.who = who_am_i();
  head.part = part_of(choice);
  head.choice = {choice.names, choice.groups, choice.models, choice.except};
  head.files = digest_of_files(fleet);
  head.begun = records::stamp(begun);
  return head;
}

std::string keep(records::Disk& disk, const records::AuditHead& head,
                 const std::vector<change::Audited>& units) {
  records::AuditText text;
  for (const change::Audited& unit : units) text.add(report::kept(unit));
  return records::keep_audit(disk, head, text);
}

std::string digest_of_files(const fleet::Fleet& fleet) {
  auto files = change::digests(fleet);
  std::sort(files.begin(), files.end());
  std::string lines;
  for (const auto& [name, digest] : files) lines += fmt::format("{}  {}\n", digest, name);
  return records::sha256(lines);
}

}  // namespace vergeset::cli
