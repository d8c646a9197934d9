#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "change/found_rows.h"
#include "fleet/fleet.h"

namespace vergeset::change {

/// Which found row each desired row of a table is; nothing for a row that is not there.
struct RowMatch {
  std::vector<std::optional<std::uint32_t>> of;  ///< one for each desired row
  std::vector<std::uint32_t> others;             ///< found rows that nobody asked for
};

/// Rows with a stated index first, then the matched ones in the order of the files, each taking the
/// lowest index that fits and is not taken.
RowMatch match_rows(const fleet::DesiredTable& desired, const FoundRows& found);

/// Free indexes of a table, lowest first.
class FreeIndexes {
 public:
  FreeIndexes(const schema::Table& table, std::vector<std::uint32_t> taken);
  /// The next one, or nothing where the table's index range is used up.
  std::optional<std::uint32_t> take();

 private:
  smi::Range range_;
  std::vector<std::uint32_t> taken_;  ///< ascending
  std::int64_t next_;
};

}  // namespace vergeset::change
