#pragma once

#include <map>
#include <memory>
#include <string>
#include <unordered_map>
#include <vector>

#include "fleet/resolve.h"
#include "fleet/settled.h"

namespace vergeset::fleet {

/// Where in a list of desired values one stands that depends on the unit, and what is asked for it.
struct ValueHole {
  std::size_t at = 0;
  const std::vector<Ask>* asks = nullptr;
};

/// A row that depends on the unit.
struct RowHole {
  std::size_t at = 0;
  const RowAsks* asks = nullptr;
  std::vector<ValueHole> columns;
  bool place_depends = false;      ///< its index, or what it is matched by
  std::vector<std::string> texts;  ///< in which something is put in
  ByTexts<DesiredRow> made;
};

/// A table with such rows.
struct TableHole {
  std::size_t at = 0;
  const TableAsks* asks = nullptr;
  std::vector<RowHole> rows;
  bool places_depend = false;
  std::vector<std::string> texts;
  ByTexts<DesiredTable> made;
};

/// Units of one model and the same groups, whose own entries ask for nothing, come to the same desired values
/// but for what is put in for {unit} and the like. The first of them is resolved from its layers; for the
/// others only what depends on the unit is settled anew, and they share the rest with it.
class Shape {
 public:
  /// Resolves the first unit.
  Shape(Unit& unit, const Layers& layers, const Reading& reading);

  /// False where the first unit has a fault: then nothing is to be shared, and each unit tells its own.
  bool sound() const { return sound_; }

  /// Resolves another unit. False where it has a fault, of which some are told: it is to be resolved from
  /// all its layers.
  bool fill(Unit& unit, const Layer& own, const Reading& reading);

 private:
  /// False where the first unit lacks a value that depends on the unit.
  bool find_holes();

  SharedList<std::vector<std::string>> groups_;
  Texts values_;
  Asks asks_;
  Desired desired_;
  std::vector<ValueHole> value_holes_;
  std::vector<TableHole> table_holes_;
  bool sound_ = false;
};

/// The shapes of a fleet.
class Shapes {
 public:
  /// Settles unit.values and unit.desired.
  void resolve(Unit& unit, const Layers& layers, const Reading& reading);

 private:
  std::unordered_map<std::string, std::unique_ptr<Shape>> known_;
};

}  // namespace vergeset::fleet
