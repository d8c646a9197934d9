#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "checks/as_read.h"
#include "schema/model.h"
#include "smi/oid.h"
#include "smi/value.h"

namespace vergeset::change {

/// What is to be read of a unit: instances, and columns of tables.
struct Wanted {
  struct Columns {
    const schema::Table* table = nullptr;
    std::vector<const schema::Object*> columns;  ///< the RowStatus column among them where there is one
    std::vector<std::size_t> octets = {};        ///< of each: what a variable binding is expected to take
    std::size_t rows = 40;                       ///< so many are expected
    /// Without asking its RowStatus column first, which is not among the columns: few rows are expected, and
    /// what state they are in does not matter. Columns of other tables may be among these.
    bool at_once = false;
  };
  std::vector<smi::Oid> instances;
  std::vector<std::size_t> octets = {};  ///< of each instance, as above; or nothing
  std::vector<Columns> tables;
};

/// What a unit answered, instance by instance. An instance that was asked for and is not there is
/// kept as noSuchObject or noSuchInstance, so that "not there" and "not asked" differ.
class AsFound {
 public:
  std::map<smi::Oid, smi::Value> instances;
  std::string engine_id;  ///< octets
  std::string taken;      ///< RFC 3339

  /// The value of an instance; noSuchInstance where it is not there or was not asked.
  const smi::Value& at(const smi::Oid& instance) const;
  bool has(const smi::Oid& instance) const { return !at(instance).absent(); }
  /// The unit does not offer this object at all: asked, and noSuchObject or nothing in any row.
  bool offers(const schema::Object& object) const;
  /// The indexes of the rows that were found, ascending.
  std::vector<std::uint32_t> rows_of(const schema::Table& table) const;
};

/// As checks see it: a view, of what must outlive it.
checks::AsRead as_read(const schema::Model& model, const AsFound& found);

}  // namespace vergeset::change
