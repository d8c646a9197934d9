#pragma once

#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "change/as_found.h"
#include "schema/model.h"

namespace vergeset::change {

/// One table of a unit as found, gone through once so that a cell of it is found without its object
/// identifier. Refers to what was found.
class FoundRows {
 public:
  FoundRows(const schema::Table& table, const AsFound& found);

  /// The indexes of the rows that are there, ascending.
  const std::vector<std::uint32_t>& indexes() const { return indexes_; }
  /// noSuchInstance where it is not there or was not asked.
  const smi::Value& at(const schema::Object& column, std::uint32_t index) const;
  /// Of the first row whose value in this column is of another kind than the model's: its index.
  std::optional<std::uint32_t> of_wrong_type(const schema::Object& column) const;
  /// Some row has a value in this column.
  bool offers(const schema::Object& column) const;

 private:
  using Cells = std::vector<std::pair<std::uint32_t, const smi::Value*>>;  ///< by index, ascending

  const Cells* cells_of(const schema::Object& column) const;

  const schema::Table& table_;
  std::vector<Cells> columns_;  ///< as the table's
  std::vector<std::uint32_t> indexes_;
};

}  // namespace vergeset::change
