#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "fleet/part.h"
#include "records/audit_record.h"
#include "smi/result.h"

namespace vergeset::cli {

/// The kept audit of one part of a fleet's units; a whole one is part 1/1.
struct PartAudit {
  std::string path;
  fleet::Part part;
  records::AuditRecord record;
};

/// "2026-11-25", "2026-11-25T02:00Z" or finer, in UTC, as milliseconds since 1970.
std::optional<std::int64_t> time_given(const std::string& text);

/// The audits that `paths` name: record files, and of each folder of records its newest audit of each part
/// (of the parts that its newest one is of: a fleet that was in four parts last month is in eight now). None
/// that began before `since`. A part that is there more than once is taken from its newest audit, which is
/// said. Sorted by part. A problem where one cannot be read, or where they are no parts of one audit: of
/// another fleet, number of parts, choice of units, or against other files.
Result<std::vector<PartAudit>> part_audits(const std::vector<std::string>& paths, std::int64_t since);

}  // namespace vergeset::cli
