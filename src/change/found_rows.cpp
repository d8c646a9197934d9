#include "change/found_rows.h"

#include <algorithm>

#include "smi/form.h"

namespace vergeset::change {

FoundRows::FoundRows(const schema::Table& table, const AsFound& found)
    : table_(table), columns_(table.columns.size()) {
  const std::size_t depth = table.entry.size() + 2;  // a column, and one index
  std::size_t column = 0;
  for (auto at = found.instances.lower_bound(table.entry);
       at != found.instances.end() && at->first.within(table.entry); ++at) {
    const auto& [oid, value] = *at;
    if (oid.size() != depth || value.absent()) continue;
    const std::uint32_t number = oid.arcs()[depth - 2];
    while (column < columns_.size() && table.columns[column]->oid.back() < number) ++column;
    if (column == columns_.size()) break;
    if (table.columns[column]->oid.back() == number) columns_[column].emplace_back(oid.back(), &value);
    indexes_.push_back(oid.back());
  }
  std::sort(indexes_.begin(), indexes_.end());
  indexes_.erase(std::unique(indexes_.begin(), indexes_.end()), indexes_.end());
}

const FoundRows::Cells* FoundRows::cells_of(const schema::Object& column) const {
  const auto at = std::find(table_.columns.begin(), table_.columns.end(), &column);
  return at == table_.columns.end() ? nullptr
                                    : &columns_[static_cast<std::size_t>(at - table_.columns.begin())];
}

const smi::Value& FoundRows::at(const schema::Object& column, std::uint32_t index) const {
  static const smi::Value none = smi::Value::of_number(smi::Type::no_such_instance, 0);
  const Cells* const cells = cells_of(column);
  if (cells == nullptr) return none;
  const auto at =
      std::lower_bound(cells->begin(), cells->end(), index,
                       [](const auto& cell, std::uint32_t wanted) { return cell.first < wanted; });
  return at != cells->end() && at->first == index ? *at->second : none;
}

std::optional<std::uint32_t> FoundRows::of_wrong_type(const schema::Object& column) const {
  const Cells* const cells = cells_of(column);
  if (cells == nullptr) return std::nullopt;
  const auto wrong = std::find_if(cells->begin(), cells->end(), [&](const auto& cell) {
    return !smi::of_kind(column.syntax, *cell.second);
  });
  return wrong == cells->end() ? std::nullopt : std::optional(wrong->first);
}

bool FoundRows::offers(const schema::Object& column) const {
  const Cells* const cells = cells_of(column);
  return cells != nullptr && !cells->empty();
}

}  // namespace vergeset::change
