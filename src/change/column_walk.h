#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "change/as_found.h"
#include "snmp/network.h"

namespace vergeset::change {

/// A GETBULK walk over some columns of one table, from behind one row up to another: where each column
/// has got to. It ends by itself whatever the unit answers: what does not come behind what was asked ends it
/// (RFC 3416 4.2.2, 4.2.3), and so do more rows than the table can have.
class ColumnWalk {
 public:
  using Columns = std::vector<const schema::Object*>;

  /// From the top where `behind` is nothing, to the end of the columns where `last` is nothing.
  ColumnWalk(const schema::Table& table, const Columns& columns, std::optional<std::uint32_t> behind,
             std::optional<std::uint32_t> last);

  bool done() const { return at_.empty(); }
  /// What the next GETBULK asks behind.
  const std::vector<smi::Oid>& at() const { return at_; }
  /// Of these rows, how many the column that is furthest back has still to come to.
  std::size_t left(const std::vector<std::uint32_t>& rows) const;

  /// Takes an answer in (RFC 3416 4.2.3: repetition by repetition, each over all columns; cut where
  /// the message is full). Nothing, or what is wrong with it.
  std::optional<std::string> take(std::vector<snmp::VarBind> answer, AsFound& found);

  /// Leaves the columns of the first half here, and gives those of the other.
  ColumnWalk split();

  const schema::Table& table() const { return table_; }

 private:
  void go_on_from(const std::vector<const smi::Oid*>& at, const std::vector<bool>& ended);

  const schema::Table& table_;
  std::uint32_t last_;
  std::size_t most_;  ///< rows
  // Of each column that has not ended.
  std::vector<smi::Oid> roots_;
  std::vector<smi::Oid> at_;
  std::vector<std::size_t> rows_;
};

/// So many rows are taken of a table: as many as its index allows, and no more than 4,096, many times what
/// any unit of either standard holds.
std::size_t most_rows(const schema::Table& table);

}  // namespace vergeset::change
