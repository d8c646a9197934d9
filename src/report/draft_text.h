#pragma once

#include <string>
#include <vector>

#include "change/audit.h"
#include "change/draft_tree.h"
#include "report/json.h"
#include "report/screen.h"

namespace vergeset::report {

/// A draft and the reading that it comes from.
struct DraftShown {
  std::string fleet;  ///< its folder
  std::string out;    ///< the new one
  std::string group;
  const std::vector<change::Audited>& read;
  const change::DraftedTree& tree;
};

/// What was read, what is said once and what for each unit, what is in no file and why, and how the new files
/// are put in place.
std::string draft_text(const Screen& screen, const DraftShown& shown);
Json draft_json(const DraftShown& shown);

}  // namespace vergeset::report
