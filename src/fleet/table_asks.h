#pragma once

#include <map>
#include <string>
#include <unordered_map>
#include <vector>

#include "fleet/ask.h"
#include "fleet/meaning.h"

namespace vergeset::fleet {

/// All that the sources say of one row.
struct RowAsks {
  std::string label;
  const RowBlock* block = nullptr;  ///< of the strongest source that has the row
  const Source* source = nullptr;
  std::vector<Say> finder;  ///< index or match
  std::vector<Say> present;
  std::map<std::string, std::vector<Ask>> columns;  ///< by object
  std::vector<Ask> message;                         ///< where the model takes it from the payload
  std::map<std::string, Missing> missing;           ///< by common name of the column
};

/// All that the sources say of one table of the unit's model.
struct TableAsks {
  std::string name;  ///< as the strongest source calls it
  const Source* source = nullptr;
  const schema::Table* table = nullptr;
  std::vector<const schema::CommonTable*> commons;  ///< that come to this table on this model
  std::vector<Say> others;
  std::vector<RowAsks> rows;                            ///< in the order of the files, weakest first
  std::unordered_map<std::string, std::size_t> row_at;  ///< by label, where it stands in `rows`
};

/// What a column's name comes to in a table; `common` alone where the model lacks it. Nothing of
/// either where no table of this name has such a column.
Meaning column_meaning(const TableAsks& table, const std::string& name, const schema::Model& model);

/// Sorts what the sources say by table, row and column. Common tables that the model lacks are left
/// out; the standards' own are faults.
std::vector<TableAsks> gather_tables(const Reading& reading, const std::vector<Source>& sources,
                                     std::vector<LeftOut>& left_out);

}  // namespace vergeset::fleet
