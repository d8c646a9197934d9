#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "schema/model.h"
#include "smi/oid.h"
#include "smi/syntax.h"
#include "smi/value.h"

namespace vergeset::change {

/// One instance whose as-found value is not the desired one. It carries all that changing it and
/// showing it needs, so that what comes after the comparison asks no model.
struct Item {
  std::string name;     ///< "rsuGnssMaxDeviation.0"
  std::string setting;  ///< as the files name it: "position-tolerance", a row's column "channel"
  smi::Oid oid;
  smi::Syntax syntax;
  std::string unit;  ///< unit of measure that numbers count in
  smi::Value as_found;
  smi::Value desired;
  bool needs_standby = false;
  bool cuts_off = false;
  std::string asked;          ///< "groups/signals.yaml:12:5", or where else the desired value comes from
  std::string found_words{};  ///< what was found, where that takes more words than the value

  std::string as_found_text() const;
  std::string desired_text() const;
};

/// A value in the words that a person writes: with its unit of measure where it has one.
std::string in_words(const smi::Syntax& syntax, const std::string& unit, const smi::Value& value);

/// Where a row lives and how it is edited.
struct RowPlace {
  std::string table;
  std::uint32_t index = 0;
  smi::Oid status;  ///< of the RowStatus instance; empty where rows are the unit's own
  schema::RowEdit edit = schema::RowEdit::in_place;
  bool needs_standby = false;  ///< for making and removing it
  bool not_active = false;     ///< is to be there and not active: as it was found

  bool operator==(const RowPlace& other) const { return table == other.table && index == other.index; }
};

/// One object or row whose as-found value is not the desired one.
struct Difference {
  enum class Kind { value, make_row, change_row, remove_row };
  Kind kind = Kind::value;
  std::string name;  ///< "position-tolerance"; for a row its table as the files name it and its label
  RowPlace row;      ///< where it is a row
  /// The instances that differ. make_row: every desired column. remove_row: none. change_row: those that
  /// differ. `whole_row` holds the other columns where they were read: those that stay where a row has to be
  /// made anew, those that go with a row that is removed.
  std::vector<Item> items;
  std::vector<Item> whole_row;
  std::string asked;  ///< where the files ask for it

  bool is_row() const { return kind != Kind::value; }
  bool standby() const;   ///< anything of it needs standby
  bool cuts_off() const;  ///< anything of it can cut the manager off
  /// How a person names it: "position-tolerance", "store-and-repeat map (row 3)".
  std::string title() const;
};

/// Something to be told beside the differences: a row that nobody asked for, an object that the unit
/// does not offer, a value that means nothing on this model.
struct Remark {
  enum class Kind { other_row, not_offered, left_out };
  Kind kind = Kind::other_row;
  std::string name;
  std::string text;
};

/// Desired against as found.
struct Comparison {
  std::vector<Difference> differences;
  std::vector<Remark> remarks;
  /// What keeps the unit from being brought into line at all: no free row, a row of the unit's own
  /// that is not there. Told as a difference by an audit, refuses a change.
  std::vector<std::string> obstacles;

  bool agrees() const { return differences.empty() && obstacles.empty(); }
};

}  // namespace vergeset::change
