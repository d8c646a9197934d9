#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "fleet/fleet.h"
#include "sim/store.h"

namespace vergeset::faults {

/// A unit at one moment, looked at from outside, past the network and the code under test: the cells that its
/// files speak of, with all columns of the tables that they speak of, and the mode it is in.
struct Cells {
  struct Cell {
    const schema::Object* object = nullptr;
    std::uint32_t index = 0;
    smi::Value value;
  };
  std::vector<Cell> all;
  std::int64_t mode = 0;  ///< a value of ModeRule::status
  bool operating = false;

  const smi::Value* find(const schema::Object* object, std::uint32_t index) const;
};

/// Those objects of a unit that its files speak of: scalars, the columns of tables that a manager sets, the
/// mode.
std::vector<const schema::Object*> spoken_of(const fleet::Unit& unit);

Cells look(const sim::Store& store, const std::vector<const schema::Object*>& objects, std::int64_t now);

/// Whether a cell that may not be there is the same in both.
bool same(const schema::Object& object, const smi::Value* a, const smi::Value* b);

/// One thing that the files ask for, and whether a unit at some moment has it.
struct Ask {
  std::string name;
  const fleet::DesiredValue* value = nullptr;  ///< a scalar
  const fleet::DesiredTable* table = nullptr;
  const fleet::DesiredRow* row = nullptr;  ///< of the table; nothing: no rows beside those asked for

  bool holds(const fleet::Unit& unit, const Cells& cells) const;
};
std::vector<Ask> asks_of(const fleet::Unit& unit);

}  // namespace vergeset::faults
