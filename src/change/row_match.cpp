#include "change/row_match.h"

#include <algorithm>
#include <set>

namespace vergeset::change {

namespace {

/// The J2735 message id: the first two octets of a UPER MessageFrame (SAE J2735).
std::optional<std::int64_t> message_id(const smi::Value& payload) {
  if (payload.octets.size() < 2) return std::nullopt;
  const auto octet = [&](std::size_t i) { return static_cast<unsigned char>(payload.octets[i]); };
  return octet(0) * 256 + octet(1);
}

bool fits(const fleet::DesiredRow& row, std::uint32_t index, const FoundRows& found) {
  for (const std::size_t position : row.match) {
    const fleet::DesiredValue& column = row.columns[position];
    const smi::Value& value = found.at(*column.object, index);
    if (value.absent() || !smi::agree(column.object->syntax, value, column.value)) return false;
  }
  if (row.match_payload) {
    const auto id = message_id(found.at(*row.match_payload->payload, index));
    if (id != row.match_payload->message_id) return false;
  }
  return true;
}

}  // namespace

RowMatch match_rows(const fleet::DesiredTable& desired, const FoundRows& found) {
  RowMatch match;
  match.of.resize(desired.rows.size());
  const std::vector<std::uint32_t>& rows = found.indexes();
  std::set<std::uint32_t> free(rows.begin(), rows.end());
  for (std::size_t i = 0; i < desired.rows.size(); ++i) {
    const auto index = desired.rows[i].index;
    if (index && free.erase(*index) != 0) match.of[i] = index;
  }
  for (std::size_t i = 0; i < desired.rows.size(); ++i) {
    if (desired.rows[i].index) continue;
    const auto fit = std::find_if(free.begin(), free.end(),
                                  [&](std::uint32_t index) { return fits(desired.rows[i], index, found); });
    if (fit == free.end()) continue;
    match.of[i] = *fit;
    free.erase(fit);
  }
  match.others.assign(free.begin(), free.end());
  return match;
}

FreeIndexes::FreeIndexes(const schema::Table& table, std::vector<std::uint32_t> taken)
    : range_(table.index_range), taken_(std::move(taken)), next_(range_.low) {
  std::sort(taken_.begin(), taken_.end());
}

std::optional<std::uint32_t> FreeIndexes::take() {
  while (next_ <= range_.high &&
         std::binary_search(taken_.begin(), taken_.end(), static_cast<std::uint32_t>(next_))) {
    ++next_;
  }
  if (next_ > range_.high) return std::nullopt;
  return static_cast<std::uint32_t>(next_++);
}

}  // namespace vergeset::change
