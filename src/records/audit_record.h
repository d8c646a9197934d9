#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "records/disk.h"
#include "records/snapshot.h"

namespace vergeset::records {

/// One value that was not as the files ask: exact for later comparison, in words for the reader.
struct AuditedItem {
  std::string setting;
  Kept as_found;
  smi::Value desired;
  std::string as_found_words;
  std::string desired_words;
  bool operator==(const AuditedItem&) const = default;
};

struct AuditedDifference {
  std::string title;  ///< "position-tolerance", "store-and-repeat map (row 3)"
  std::string kind;   ///< "value", "new row", "changed row", "removed row"
  std::vector<AuditedItem> items;
  bool operator==(const AuditedDifference&) const = default;
};

struct AuditedUnit {
  std::string unit;
  std::string verdict;  ///< "agrees", "drifted", "no answer", "wrong unit"
  std::string what;
  std::vector<AuditedDifference> differences;
  std::vector<std::string> obstacles;
  std::vector<std::string> remarks;
  std::vector<std::string> health;
  bool operator==(const AuditedUnit&) const = default;
};

/// audits/<stamp>.json: how the units of a fleet stood against their files at one time.
struct AuditRecord {
  std::string fleet;
  std::string who;
  std::string begun;  ///< RFC 3339
  std::string ended;
  std::vector<AuditedUnit> units;
  bool operator==(const AuditRecord&) const = default;
};

std::string to_json(const AuditRecord& audit);
Result<AuditRecord> audit_from_json(const std::string& text);

/// Writes the record under the time (milliseconds since 1970) that it began; the path below the folder
/// of records. An audit that began in the same second keeps its own file.
std::string keep_audit(Disk& disk, const AuditRecord& audit, std::int64_t begun);

/// Paths of all audits, oldest first, and one of them; nothing where it cannot be read.
std::vector<std::string> all_audits(const Disk& disk);
std::optional<AuditRecord> find_audit(const Disk& disk, const std::string& path);

}  // namespace vergeset::records
