#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "records/disk.h"

namespace vergeset::records {

/// For how many days which records stay; nothing: for ever.
struct Ages {
  std::optional<int> audits;     ///< whole; then they are cut to how each unit stood
  std::optional<int> nights;     ///< and after that many they go
  std::optional<int> snapshots;  ///< of changes that have ended, with what was left
  std::optional<int> logs;       ///< lines of units' logs
};

/// What thinning did, or would do.
struct Thinned {
  std::size_t audits_cut = 0;
  std::size_t audits_gone = 0;
  std::size_t changes = 0;  ///< whose snapshots went
  std::size_t logs = 0;     ///< that lost lines
  std::uint64_t octets = 0;
  std::vector<std::string> left;  ///< what was due and stayed, and why
  bool nothing() const { return audits_cut + audits_gone + changes + logs == 0; }
};

/// Thins records by age, counted from `now` (milliseconds since 1970). Never touched are: the records of a
/// change that has not ended, who changed what (change.yaml and journals), the two newest audits, key stores,
/// known units, commissioning records, and what cannot be read. Each file is as it was or as it is to be,
/// whenever this breaks off; running it again goes on. The caller holds the lock of changes (lock.h). Without
/// `really` nothing is written.
Thinned thin(FolderDisk& disk, const Ages& ages, std::int64_t now, bool really);

}  // namespace vergeset::records
