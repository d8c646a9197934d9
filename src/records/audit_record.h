#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "records/counted.h"
#include "records/disk.h"
#include "records/expiry.h"
#include "records/factory_tries.h"
#include "records/snapshot.h"

namespace vergeset::records {

/// One value that was not as the files ask: exact for later comparison, in words for the reader.
struct AuditedItem {
  std::string setting;
  Kept as_found;
  std::optional<smi::Value> desired;  ///< nothing for a column of a row that is to go
  std::string as_found_words;
  std::string desired_words;
  bool needs_standby = false;
  bool cuts_off = false;
  std::string asked;  ///< "groups/signals.yaml:12:5"
  bool operator==(const AuditedItem&) const = default;
};

struct AuditedDifference {
  std::string name;   ///< "position-tolerance", "store-and-repeat map"
  std::string kind;   ///< "value", "new row", "changed row", "removed row"
  std::string table;  ///< of a row; empty for a value
  std::uint32_t row = 0;
  std::string asked;
  bool needs_standby = false;
  std::vector<AuditedItem> items;
  bool operator==(const AuditedDifference&) const = default;
};

struct AuditedRemark {
  std::string kind;  ///< "row that nobody asked for", "not offered", "left out"
  std::string name;
  std::string text;
  bool operator==(const AuditedRemark&) const = default;
};

struct AuditedFinding {
  std::string rule;      ///< empty in records from before findings had one
  std::string severity;  ///< as well
  std::string text;
  std::string source;
  bool operator==(const AuditedFinding&) const = default;
};

struct AuditedUnit {
  std::string unit;
  std::string verdict;  ///< "agrees", "drifted", "no answer", "wrong unit"
  std::string what;
  std::string taken;  ///< RFC 3339; empty where it gave no answer
  std::vector<AuditedDifference> differences;
  std::vector<std::string> obstacles;
  std::vector<AuditedRemark> remarks;
  std::vector<AuditedFinding> health;
  std::vector<FactoryTry> doors;  ///< what it had from the factory
  FoundAt position;
  Counted counted;
  std::vector<Expiry> ends;  ///< what it has for a time only
  bool operator==(const AuditedUnit&) const = default;
};

/// Which units were asked for, as on the command line; what is empty did not narrow it.
struct AuditChoice {
  std::vector<std::string> units;
  std::vector<std::string> groups;
  std::vector<std::string> models;
  std::vector<std::string> except;
  bool operator==(const AuditChoice&) const = default;
};

/// Of which units, against which files, by whom and when: what tells whether audits belong together.
struct AuditHead {
  std::string fleet;
  std::string who;
  /// "whole", "2/4", or "1, 2, 4 of 4" where other parts were missing when they were gathered. Empty in
  /// records that were kept before there were parts.
  std::string part;
  AuditChoice choice;
  std::string files;  ///< SHA-256 over the digests of the fleet's files; empty in records from before
  std::string begun;  ///< RFC 3339
  std::string ended;
  /// When it was cut to how each unit stood, because of its age (thinning.h); empty where it was not.
  std::string cut{};
  bool operator==(const AuditHead&) const = default;
};

/// audits/<stamp>.json: how the units of a fleet stood against their files at one time. It holds all that an
/// audit shows, so that the audits of several hosts can be shown as one.
struct AuditRecord {
  AuditHead head;
  std::vector<AuditedUnit> units;
  bool operator==(const AuditRecord&) const = default;
};

/// The text of a record, made unit by unit: one line each, of a unit that agrees some three hundred octets.
/// Nothing else of a unit is held, so that ten thousand of them cost little more than their file.
class AuditText {
 public:
  void add(const AuditedUnit& unit);
  /// The whole text. The head comes last since it says when the audit ended.
  std::string under(const AuditHead& head) const;

 private:
  std::string units_;
};

std::string to_json(const AuditRecord& audit);

/// All that a record says beside its units.
Result<AuditHead> read_audit_head(const std::string& text);
/// A unit as it stands in the text of a record: how it stood, and the rest where that is wanted.
struct AuditLine {
  std::string unit;
  std::string verdict;
  std::function<AuditedUnit()> whole;  ///< while the reading of this unit lasts
};

/// The same record unit by unit, so that months of audits of ten thousand units can be read on end: holds the
/// text and one unit. `take` has been called for the units before the place where a record is damaged.
Result<AuditHead> read_audit(const std::string& text, const std::function<void(const AuditLine&)>& take);

/// Takes what this and earlier versions wrote.
Result<AuditRecord> audit_from_json(const std::string& text);

/// Writes a record's text under the time that it began and its part, so that parts that share a folder and
/// begin at once do not meet; the path below the folder of records: "audits/2026-11-25T02-00-00Z.json",
/// "audits/2026-11-25T02-00-00Z_2-of-4.json". An audit that began in the same second keeps its own file.
std::string keep_audit(Disk& disk, const AuditHead& head, const AuditText& text);

/// Paths of all audits, oldest first, and one of them; nothing where it cannot be read.
std::vector<std::string> all_audits(const Disk& disk);
std::optional<AuditRecord> find_audit(const Disk& disk, const std::string& path);

/// What was last counted of each of these units that an audit is kept of: out of the newest records, as many
/// as it takes to find all units, 64 MiB of them at most: sixteen of ten thousand units, or as many small
/// ones as a year may bring (those of `vergeset listen` are of a unit or two). Holds one line of a record at
/// a time, beside its text. A record that cannot be read is passed over.
std::map<std::string, Counted> last_counted(const Disk& disk, std::set<std::string> units);

}  // namespace vergeset::records
