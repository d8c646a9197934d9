#pragma once

#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "report/screen.h"

namespace vergeset::report {

/// What of a unit's desired values a person asked about; all pointers none: nothing asks for it.
struct Where {
  std::vector<const fleet::DesiredValue*> values;
  std::vector<const fleet::DesiredTable*> tables;
  std::vector<const fleet::LeftOut*> left_out;
  bool empty() const { return values.empty() && tables.empty() && left_out.empty(); }
};

/// All of it, or what goes by a name: of a setting, a table, a column, or an object of the standard.
Where where(const fleet::Unit& unit, const std::string& name);

/// Every name that `where` could be asked about on this unit's model, for suggestions.
std::vector<std::string> askable(const fleet::Unit& unit, const schema::Schema& schema);

/// "keep", "remove", "ignore".
const char* others_name(fleet::Others others);

/// Each desired value, the place and layer that asked for it, and what it overrode.
std::string where_text(const Screen& screen, const fleet::Unit& unit, const Where& where);

}  // namespace vergeset::report
