#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "change/audit.h"
#include "records/audit_record.h"
#include "records/disk.h"

namespace vergeset::cli {

/// What the record of an audit of these units says of it, all but when it ended. `begun` in milliseconds
/// since 1970.
records::AuditHead head_of(const fleet::Fleet& fleet, const fleet::Choice& choice, std::int64_t begun);

/// Keeps an audit under records/audits; the path of its record.
std::string keep(records::Disk& disk, const records::AuditHead& head,
                 const std::vector<change::Audited>& units);

/// One digest over the names and the contents of all files of a fleet, to tell whether two hosts work with
/// the same ones: of what `sha256sum` prints of them, sorted by name.
std::string digest_of_files(const fleet::Fleet& fleet);

}  // namespace vergeset::cli
