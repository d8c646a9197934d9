#pragma once

#include <map>
#include <string>
#include <vector>

#include "change/draft_layer.h"
#include "change/draft_rows.h"

namespace vergeset::change {

/// How many objects that the units answered with are no settings, and so in no file.
struct NoSettings {
  std::size_t read_only = 0;
  std::size_t actions = 0;
  std::size_t running = 0;  ///< written by the unit's own programs
  std::size_t unknown = 0;  ///< instances that the model does not know
};

/// Something that was found and cannot be asked for.
struct NotDrafted {
  std::string unit;
  std::string what;
  std::string why;
};

/// Files that describe units as they were found. What all or most have in common is said once, in the group;
/// rows that some have are in groups of their own; the rest is said for each unit.
struct Draft {
  std::map<std::string, DraftedLayer> groups;  ///< by name
  struct OfUnit {
    DraftedLayer layer;
    std::vector<std::string> groups;  ///< drafted ones, weakest first
  };
  std::vector<OfUnit> units;                 ///< in the order of what was given
  std::map<std::string, std::string> files;  ///< octets, by path within the fleet
  std::size_t in_groups = 0;                 ///< values that are said once
  std::size_t in_units = 0;                  ///< values that are said for a unit
  std::size_t rows = 0;                      ///< found, over all units
  std::size_t values = 0;                    ///< found, over all units: so many lines without groups
  NoSettings no_settings;
  std::vector<NotDrafted> left_out;
};

/// Pure. `group` is the name of the group for all; those of rows begin with it. Files go to payloads/GROUP/.
Draft draft(const schema::Schema& schema, const std::vector<ToDescribe>& units, const std::string& group);

}  // namespace vergeset::change
