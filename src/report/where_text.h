#pragma once

#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "report/screen.h"

namespace vergeset::report {

/// What of a unit's desired values a person asked about; empty where no file asks for it.
struct Where {
  std::vector<const fleet::DesiredValue*> values;
  std::vector<const fleet::DesiredTable*> tables;
  std::vector<const fleet::LeftOut*> left_out;
  std::string row;  ///< the one row of `tables` that was asked about; empty: all rows

  bool shows(const fleet::DesiredRow& one) const { return row.empty() || one.label == row; }
  bool empty() const { return values.empty() && tables.empty() && left_out.empty(); }
};

/// All of it, or what goes by a name: of a setting, a table, a row, a column, an object of the standard,
/// TABLE/ROW or TABLE/ROW/COLUMN.
Where where(const fleet::Unit& unit, const std::string& name);

/// Every name that `where` could be asked about on this unit's model, for suggestions.
std::vector<std::string> askable(const fleet::Unit& unit, const schema::Schema& schema);

/// "keep", "remove", "ignore".
const char* others_name(fleet::Others others);

/// Each desired value, the place and layer that asked for it, and what it overrode.
std::string where_text(const Screen& screen, const fleet::Unit& unit, const Where& where);

}  // namespace vergeset::report
