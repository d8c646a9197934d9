#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "change/draft_say.h"

namespace vergeset::change {

/// One name on several units: what is to be written once for all of them, and what is left for each.
struct Slot {
  struct Member {
    std::size_t unit = 0;
    const fleet::Unit* of = nullptr;
    const Cell* cell = nullptr;
  };
  std::vector<Member> members;
  bool plain = true;   ///< all units may be asked alike; otherwise those of one model at a time
  bool lifted = true;  ///< something may be written for all of them
  /// Every unit that would read what is shared has something to say itself. Where one has not, a name such as
  /// {site.place}, or a file that is named for the unit, could lead nowhere on it.
  bool whole = true;
  bool rather_shared = false;  ///< where it takes as many lines either way
};

/// The shortest that makes all members agree, counted in lines.
struct Chosen {
  std::optional<Say> all;
  std::map<std::string, Say> only;       ///< by model, stronger than `all`
  std::map<std::size_t, Say> own;        ///< by unit, stronger than both
  std::set<std::size_t> not_to_compare;  ///< units of which no file can ask what they hold
  std::size_t lines() const { return (all ? 1 : 0) + only.size() + own.size() + not_to_compare.size(); }
};
Chosen choose(const Slot& slot);

}  // namespace vergeset::change
