#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "sim/store.h"

namespace vergeset::sim {

/// One SET, taken apart: which variable each binding names, and what it does to each row as a whole,
/// since the bindings of a request take effect together (RFC 3416 4.2.5).
class SetPlan {
 public:
  SetPlan(const Store& store, const std::vector<VarBind>& set, std::int64_t now);

  /// The first variable binding that may not be, and why.
  Verdict verdict() const;
  /// Does it, as far as it can be done: what verdict() would refuse is left out.
  void carry_out(Store& store) const;

 private:
  struct Target {
    const schema::Object* object = nullptr;
    std::size_t slot = 0;
    std::uint32_t index = 0;
    Status status = Status::no_error;  ///< of the binding by itself
  };
  struct RowAsk {
    const schema::Table* table = nullptr;
    std::uint32_t index = 0;
    std::optional<std::size_t> status;  ///< binding of the status column
    std::vector<std::size_t> columns;   ///< the other bindings
    RowState before = RowState::missing;
    RowStep step;  ///< of the status column; the state as it stands where that is not SET
    bool creates() const { return before == RowState::missing && step.next != RowState::missing; }
    bool destroys() const { return before != RowState::missing && step.next == RowState::missing; }
  };
  using RowKey = std::pair<const schema::Table*, std::uint32_t>;

  Target target_of(const VarBind& bind) const;
  void gather_rows();
  bool complete(const RowAsk& row) const;
  Status together(std::size_t binding) const;
  Status scalar_together(std::size_t binding) const;
  Status status_together(const RowAsk& row) const;
  Status column_together(const RowAsk& row, const Target& target) const;
  bool has_room(const RowAsk& row) const;
  void carry_out_row(Store& store, const RowAsk& row) const;
  void carry_out_scalar(Store& store, std::size_t binding) const;

  const Store& store_;
  const std::vector<VarBind>& set_;
  std::int64_t now_;
  bool standby_;
  std::vector<Target> targets_;
  std::vector<RowAsk> rows_;  ///< in the order in which the request first names them
  std::map<RowKey, std::size_t> row_at_;
};

/// What RFC 3416 4.2.5 (3) to (6) say of a value for this object, whatever else the unit holds.
Status value_status(const schema::Object& object, const smi::Value& value);

}  // namespace vergeset::sim
