#pragma once

#include <string>
#include <vector>

#include "change/difference.h"
#include "change/draft.h"

namespace vergeset::change {

/// Where a draft comes from and goes to.
struct DraftPlan {
  std::string schemas;
  std::string group;  ///< a name that no group of the fleet begins with
  std::string out;    ///< a folder that must not be there yet
};

/// Why nothing can be drafted there; empty where it can. `draft_tree` asks the same.
std::string cannot_draft(const fleet::Fleet& fleet, const DraftPlan& plan);

/// A drafted fleet in its folder.
struct DraftedTree {
  Draft draft;
  std::vector<std::string> described;  ///< units, by name
  /// Units that files cannot describe as they were found, each with what would still differ. Their entries
  /// are as before.
  struct NotDescribed {
    std::string unit;
    Comparison left;
  };
  std::vector<NotDescribed> not_described;
  std::vector<std::string> files;    ///< new or other than in the fleet, relative to the folder
  std::vector<std::string> staying;  ///< files of secrets and certificates, which are not copied
  std::vector<std::string> gone;     ///< files of the fleet that the new tree has no more
  std::size_t lines = 0;             ///< of settings and rows, groups and units together
};

/// Writes a whole fleet into a new folder: all files of `fleet`, new groups, and an inventory in which the
/// units' entries ask for what was found. It is written under another name, loaded, and compared with what
/// was found; only a tree without a fault, in which all that are described agree and all other units are
/// asked for what they were before, is renamed. Otherwise, or where the folder is there already, a problem,
/// and nothing is left behind.
Result<DraftedTree> draft_tree(const fleet::Fleet& fleet, std::vector<ToDescribe> units,
                               const DraftPlan& plan);

}  // namespace vergeset::change
