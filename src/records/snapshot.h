#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "smi/oid.h"
#include "smi/result.h"
#include "smi/value.h"

namespace vergeset::records {

/// One instance and its exact value. The name is for the reader: restoring uses the object
/// identifier and the type, so that a snapshot holds even if a model file has changed since.
struct Kept {
  std::string name;
  smi::Oid oid;
  smi::Value value;
  bool operator==(const Kept&) const = default;
};

/// A row as it was: there with these columns, or not there.
struct KeptRow {
  std::string table;
  std::uint32_t index = 0;
  smi::Oid status;  ///< of its RowStatus instance; empty where rows are the unit's own
  bool present = false;
  std::vector<Kept> columns;
  bool operator==(const KeptRow&) const = default;
};

/// What a change is about to touch, as found (or as left): enough to put it back.
struct Snapshot {
  std::string unit;
  std::string model;
  std::string taken;      ///< RFC 3339
  std::string engine_id;  ///< hex
  bool on_air = false;    ///< it was in operate, not only asked to be
  std::vector<Kept> values;
  std::vector<KeptRow> rows;
  bool operator==(const Snapshot&) const = default;
};

std::string to_yaml(const Snapshot& snapshot);
Result<Snapshot> snapshot_from_yaml(const std::string& text);

}  // namespace vergeset::records
