#pragma once

#include <optional>
#include <string>
#include <vector>

#include "change/as_found.h"
#include "change/draft_say.h"

namespace vergeset::change {

/// A unit to be described: as its fleet asks of it without the settings of its own entry, and as found.
struct ToDescribe {
  const fleet::Unit* unit = nullptr;
  const AsFound* found = nullptr;
  bool part = false;  ///< not everything was asked for, as in a walk: what is not there may be in the unit
};

/// The name of a scalar or column in a fleet's files on a model, and what it means there.
std::string name_in_files(const schema::Schema& schema, const schema::Model& model,
                          const schema::Object& object, fleet::Meaning& meaning);

/// A row that was found.
struct RowFound {
  std::size_t unit = 0;
  std::uint32_t index = 0;
  std::vector<Cell> columns;  ///< by column number; the kind of message last where no column has it
};

/// Rows of several units that are one row to their files: the same table, found by the same values.
struct AlikeRows {
  std::string table;  ///< as the files name it
  std::string model;  ///< the one that has the table; empty where its name is a common one
  std::string label;  ///< for the files
  const schema::Table* any = nullptr;
  bool stays = false;              ///< other layers ask for it already, under this label
  bool at_odds = false;            ///< and ask that it be gone, though it is there
  std::vector<std::string> match;  ///< columns that pick it out; none where its index does
  std::optional<std::uint32_t> index;
  std::vector<RowFound> rows;        ///< one a unit
  std::vector<std::size_t> without;  ///< units where other layers ask for it and it is not there
};

/// A row that no file can ask for as it is: it is not active.
struct IdleRow {
  std::size_t unit = 0;
  std::string table;
  std::uint32_t index = 0;
};

struct RowsOfUnits {
  std::vector<AlikeRows> alike;
  std::vector<IdleRow> idle;
};

/// All rows with settings in them. Rows are picked out by service and kind of message, and where these are
/// not enough by address and port; by their index where that does not tell the rows of each unit apart, where
/// the unit makes its rows itself, and where a row holds what no file can ask for and so cannot be shared.
RowsOfUnits rows_of_units(const schema::Schema& schema, const std::vector<ToDescribe>& units);

}  // namespace vergeset::change
