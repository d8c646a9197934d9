#include "change/column_walk.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <utility>

namespace vergeset::change {

namespace {

constexpr std::uint32_t no_end = std::numeric_limits<std::uint32_t>::max();

using Instances = decltype(AsFound::instances);

/// An instance follows the one before it in its column, which saves looking for its place.
Instances::iterator add(smi::Oid oid, smi::Value value, Instances::iterator before, Instances& instances) {
  const auto hint = before == instances.end() ? instances.lower_bound(oid) : std::next(before);
  return instances.insert_or_assign(hint, std::move(oid), std::move(value));
}

/// "rsuMsgRepeatPsid.3", or the dotted identifier of what is not of the table.
std::string named(const schema::Table& table, const smi::Oid& oid) {
  for (const schema::Object* column : table.columns) {
    if (!oid.within(column->oid)) continue;
    std::string name = column->name;
    for (std::size_t i = column->oid.size(); i < oid.size(); ++i) name += fmt::format(".{}", oid.arcs()[i]);
    return name;
  }
  return oid.str();
}

}  // namespace

std::size_t most_rows(const schema::Table& table) {
  constexpr std::int64_t most = 4096;
  return static_cast<std::size_t>(
      std::clamp<std::int64_t>(table.index_range.high - table.index_range.low + 1, 1, most));
}

ColumnWalk::ColumnWalk(const schema::Table& table, const Columns& columns,
                       std::optional<std::uint32_t> behind, std::optional<std::uint32_t> last)
    : table_(table), last_(last.value_or(no_end)), most_(most_rows(table)), rows_(columns.size(), 0) {
  roots_.reserve(columns.size());
  at_.reserve(columns.size());
  for (const schema::Object* column : columns) {
    roots_.push_back(column->oid);
    at_.push_back(behind ? column->oid.child(*behind) : column->oid);
  }
}

std::size_t ColumnWalk::left(const std::vector<std::uint32_t>& rows) const {
  std::size_t most = 0;
  for (std::size_t column = 0; column < at_.size(); ++column) {
    const bool at_top = at_[column] == roots_[column];
    const auto next = at_top ? rows.begin() : std::upper_bound(rows.begin(), rows.end(), at_[column].back());
    most = std::max(most, static_cast<std::size_t>(rows.end() - next));
  }
  return most;
}

std::optional<std::string> ColumnWalk::take(std::vector<snmp::VarBind> answer, AsFound& found) {
  const std::size_t width = at_.size();
  if (answer.empty() || width == 0) return table_.name + ": the unit answers a GETBULK with nothing";
  std::vector<bool> ended(width, false);
  std::vector<const smi::Oid*> at(width);
  std::vector<Instances::iterator> latest(width, found.instances.end());
  for (std::size_t column = 0; column < width; ++column) at[column] = &at_[column];
  for (std::size_t i = 0; i < answer.size(); ++i) {
    const std::size_t column = i % width;
    auto& [oid, value] = answer[i];
    if (ended[column]) continue;
    if (value.absent()) {
      ended[column] = true;
      continue;
    }
    if (!(oid > *at[column])) {
      return fmt::format(
          "{}: asked for what comes behind {}, the unit answers {}, which does not (RFC 3416 4.2.3): its "
          "walk "
          "would never end",
          table_.name, named(table_, *at[column]), named(table_, oid));
    }
    if (!oid.within(roots_[column])) {
      ended[column] = true;
      continue;
    }
    if (++rows_[column] > most_) {
      return fmt::format("{}: the unit gives more than {} rows, and the table has {} at most", table_.name,
                         most_, most_);
    }
    ended[column] = oid.back() >= last_ && oid.size() == roots_[column].size() + 1;
    latest[column] = add(std::move(oid), std::move(value), latest[column], found.instances);
    at[column] = &latest[column]->first;
  }
  go_on_from(at, ended);
  return std::nullopt;
}

void ColumnWalk::go_on_from(const std::vector<const smi::Oid*>& at, const std::vector<bool>& ended) {
  for (std::size_t column = at.size(); column-- > 0;) {
    const auto place = static_cast<std::ptrdiff_t>(column);
    if (ended[column]) {
      at_.erase(at_.begin() + place);
      roots_.erase(roots_.begin() + place);
      rows_.erase(rows_.begin() + place);
    } else if (at[column] != &at_[column]) {
      at_[column] = *at[column];
    }
  }
}

ColumnWalk ColumnWalk::split() {
  ColumnWalk rest = *this;
  const auto half = static_cast<std::ptrdiff_t>(at_.size() / 2);
  const auto halve = [half](auto& here, auto& there) {
    there.erase(there.begin(), there.begin() + half);
    here.erase(here.begin() + half, here.end());
  };
  halve(roots_, rest.roots_);
  halve(at_, rest.at_);
  halve(rows_, rest.rows_);
  return rest;
}

}  // namespace vergeset::change
