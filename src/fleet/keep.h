#pragma once

#include <optional>

#include "schema/yaml.h"

namespace vergeset::fleet {

/// How many days records stay, `keep:` of fleet.yaml. What is not stated stays for ever, and so do the
/// records of who changed what and when.
struct Keep {
  std::optional<int> audits;     ///< whole; older ones are cut to how each unit stood
  std::optional<int> nights;     ///< then these go too
  std::optional<int> snapshots;  ///< of changes that have ended: without them there is no rollback
  std::optional<int> logs;       ///< lines of units' logs
};

Keep read_keep(const schema::Entry& entry);

}  // namespace vergeset::fleet
