#include "change/compare.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "change/mode.h"
#include "change/row_match.h"
#include "smi/form.h"
#include "smi/row_status.h"

namespace vergeset::change {

namespace {

using namespace smi::row_status;

class Comparing {
 public:
  Comparing(const fleet::Unit& unit, const AsFound& found) : unit_(unit), found_(found) {}

  Comparison take() {
    for (const fleet::DesiredValue& value : unit_.desired.values) scalar(value);
    for (const fleet::DesiredTable& table : unit_.desired.tables) rows(table);
    for (const fleet::LeftOut& left : unit_.desired.left_out) {
      out_.remarks.push_back({Remark::Kind::left_out, left.name, left.why});
    }
    return std::move(out_);
  }

 private:
  Item item(const fleet::DesiredValue& desired, const smi::Oid& instance, const smi::Value& as_found) const {
    const schema::Traits traits = unit_.desired.traits_of(*desired.object);
    const auto breach = as_found.absent() ? std::nullopt : smi::violation(desired.object->syntax, as_found);
    const std::string in_text =
        breach ? in_words(desired.object->syntax, desired.object->unit, as_found) : "";
    return {unit_.model->name_of(instance),
            desired.name,
            instance,
            desired.object->syntax,
            desired.object->unit,
            as_found,
            desired.value,
            traits.needs_standby,
            traits.cuts_off,
            desired.asked.place.str(),
            breach ? fmt::format("{} ({})", in_text, *breach) : std::string()};
  }

  /// A unit that answers another type than its model has cannot be compared, and is not changed: it may be
  /// something else than the model says, and what it holds could not be put back.
  bool wrong_type(const schema::Object& object, const smi::Oid& instance, const smi::Value& value) {
    if (value.absent() || smi::of_kind(object.syntax, value)) return false;
    out_.obstacles.push_back(fmt::format(
        "{} is answered as {}, and {} has {} there; see that it is this model",
        unit_.model->name_of(instance), smi::type_name(value.type), unit_.model->title, object.syntax.str()));
    return true;
  }

  bool wrong_type_of_mode_reached() {
    const schema::Object& status = *unit_.model->mode->status;
    const smi::Oid instance = status.oid.child(0);
    return wrong_type(status, instance, found_.at(instance));
  }

  bool ignored(const schema::Object& object) const { return unit_.desired.traits_of(object).ignored; }

  void not_offered(const std::string& name, const schema::Object& object) {
    out_.remarks.push_back(
        {Remark::Kind::not_offered, name, fmt::format("the unit does not offer {}", object.name)});
  }

  void scalar(const fleet::DesiredValue& desired) {
    if (ignored(*desired.object)) return;
    const smi::Oid instance = desired.object->oid.child(0);
    const smi::Value& value = found_.at(instance);
    if (value.absent()) return not_offered(desired.name, *desired.object);
    if (wrong_type(*desired.object, instance, value)) return;
    const bool mode = unit_.model->mode && unit_.model->mode->asked == desired.object;
    if (mode && wrong_type_of_mode_reached()) return;
    const auto unreached =
        mode ? unreached_mode(*unit_.model, found_, desired.value.number) : std::optional<std::string>();
    if (!unreached && smi::agree(desired.object->syntax, value, desired.value)) return;
    Difference difference;
    difference.name = desired.name;
    difference.asked = desired.asked.place.str();
    difference.items.push_back(item(desired, instance, value));
    if (unreached) difference.items.back().found_words = *unreached;
    out_.differences.push_back(std::move(difference));
  }

  /// Of the columns that some row asks for, and of what says that a row is there.
  void wrong_types(const fleet::DesiredTable& desired, const FoundRows& found) {
    std::set<const schema::Object*> compared{desired.table->status};
    for (const fleet::DesiredRow& row : desired.rows) {
      for (const fleet::DesiredValue& column : row.columns) compared.insert(column.object);
      if (row.match_payload) compared.insert(row.match_payload->payload);
    }
    for (const schema::Object* column : desired.table->columns) {
      if (!compared.contains(column) || ignored(*column)) continue;
      const auto row = found.of_wrong_type(*column);
      if (row) wrong_type(*column, column->oid.child(*row), found.at(*column, *row));
    }
  }

  RowPlace place(const schema::Table& table, std::uint32_t index) const {
    return {table.name, index, table.status != nullptr ? table.status->oid.child(index) : smi::Oid(),
            table.edit, unit_.desired.needs_standby(table)};
  }

  void rows(const fleet::DesiredTable& desired) {
    const schema::Table& table = *desired.table;
    const FoundRows found(table, found_);
    if (table.most != nullptr && !found_.offers(*table.most) && found.indexes().empty()) {
      out_.remarks.push_back(
          {Remark::Kind::not_offered, desired.name, fmt::format("the unit does not offer {}", table.name)});
      return;
    }
    wrong_types(desired, found);
    const RowMatch match = match_rows(desired, found);
    std::vector<std::uint32_t> taken = found.indexes();
    const std::size_t rows_found = taken.size();
    for (const fleet::DesiredRow& row : desired.rows) {
      if (row.index) taken.push_back(*row.index);
    }
    std::size_t removed = others(desired, match, taken);
    for (std::size_t i = 0; i < desired.rows.size(); ++i) {
      const fleet::DesiredRow& row = desired.rows[i];
      if (row.present || !match.of[i]) continue;
      remove(fmt::format("{} {}", desired.name, row.label), table, *match.of[i], row.asked.place.str());
      ++removed;
    }
    FreeIndexes free(table, taken);
    std::size_t made = 0;
    for (std::size_t i = 0; i < desired.rows.size(); ++i) {
      const fleet::DesiredRow& row = desired.rows[i];
      if (!row.present) continue;
      if (match.of[i]) {
        change(desired, row, *match.of[i], found);
      } else if (make(desired, row, free)) {
        ++made;
      }
    }
    check_room(desired, rows_found + made, removed);
  }

  /// What the table says of rows that nobody asked for; how many go. The index of one that goes is
  /// free again.
  std::size_t others(const fleet::DesiredTable& desired, const RowMatch& match,
                     std::vector<std::uint32_t>& taken) {
    // Rows of the unit's own are there whether anybody asks or not.
    if (desired.others == fleet::Others::ignore || !desired.table->rows_are_made()) return 0;
    const bool go = desired.others == fleet::Others::remove;
    for (const std::uint32_t index : match.others) {
      const std::string name = fmt::format("{} row {}", desired.name, index);
      if (!go) {
        out_.remarks.push_back({Remark::Kind::other_row, name, "kept"});
        continue;
      }
      remove(fmt::format("{} row that nobody asked for", desired.name), *desired.table, index,
             "others: remove");
      taken.erase(std::remove(taken.begin(), taken.end(), index), taken.end());
    }
    return go ? match.others.size() : 0;
  }

  void remove(const std::string& name, const schema::Table& table, std::uint32_t index,
              const std::string& asked) {
    Difference difference;
    difference.kind = Difference::Kind::remove_row;
    difference.name = name;
    difference.row = place(table, index);
    difference.asked = asked;
    out_.differences.push_back(std::move(difference));
  }

  void change(const fleet::DesiredTable& table, const fleet::DesiredRow& row, std::uint32_t index,
              const FoundRows& found) {
    Difference difference;
    // A row of which nothing is there has gone while the unit was read.
    const bool gone = std::all_of(row.columns.begin(), row.columns.end(), [&](const auto& column) {
      return found.at(*column.object, index).absent();
    });
    // A row that was begun and never finished: what it lacks is not what the unit does not offer.
    const schema::Object* status = table.table->status;
    const bool half_made = status != nullptr && found.at(*status, index).number == not_ready;
    for (const fleet::DesiredValue& column : row.columns) {
      if (ignored(*column.object)) continue;
      const smi::Value& value = found.at(*column.object, index);
      if (value.absent() && !found.offers(*column.object) && !half_made && !gone) {
        not_offered(fmt::format("{} {} {}", table.name, row.label, column.name), *column.object);
      } else if (!smi::agree(column.object->syntax, value, column.value)) {
        difference.items.push_back(item(column, column.object->oid.child(index), value));
      }
    }
    out_of_service(*table.table, row, index, found, difference);
    if (difference.items.empty()) return;
    difference.kind = Difference::Kind::change_row;
    difference.name = fmt::format("{} {}", table.name, row.label);
    difference.row = place(*table.table, index);
    if (half_made) difference.row.edit = schema::RowEdit::remake;
    difference.asked = row.asked.place.str();
    out_.differences.push_back(std::move(difference));
  }

  /// A row that is there but not active is a difference of its own: nothing is sent from it.
  void out_of_service(const schema::Table& table, const fleet::DesiredRow& row, std::uint32_t index,
                      const FoundRows& found, Difference& difference) const {
    if (table.status == nullptr) return;
    const smi::Value& status = found.at(*table.status, index);
    const smi::Value in_service = smi::Value::integer(active);
    if (status.absent() || smi::agree(table.status->syntax, status, in_service)) return;
    const smi::Oid instance = table.status->oid.child(index);
    difference.items.push_back({unit_.model->name_of(instance),
                                "row status",
                                instance,
                                table.status->syntax,
                                "",
                                status,
                                in_service,
                                unit_.desired.needs_standby(table),
                                false,
                                row.asked.place.str(),
                                {}});
  }

  bool make(const fleet::DesiredTable& table, const fleet::DesiredRow& row, FreeIndexes& free) {
    const std::string name = fmt::format("{} {}", table.name, row.label);
    if (!table.table->rows_are_made()) {
      out_.obstacles.push_back(
          fmt::format("{}: the unit has no row {} and such rows cannot be made", name, *row.index));
      return false;
    }
    const auto index = row.index ? row.index : free.take();
    if (!index) {
      out_.obstacles.push_back(fmt::format("{}: no free row in {}", name, table.table->name));
      return false;
    }
    Difference difference;
    difference.kind = Difference::Kind::make_row;
    difference.name = name;
    difference.row = place(*table.table, *index);
    difference.asked = row.asked.place.str();
    const smi::Value none = smi::Value::of_number(smi::Type::no_such_instance, 0);
    for (const fleet::DesiredValue& column : row.columns) {
      difference.items.push_back(item(column, column.object->oid.child(*index), none));
    }
    out_.differences.push_back(std::move(difference));
    return true;
  }

  void check_room(const fleet::DesiredTable& table, std::size_t rows, std::size_t removed) {
    if (table.table->most == nullptr) return;
    const smi::Value& most = found_.at(table.table->most->oid.child(0));
    if (most.absent() || most.number <= 0 || rows - removed <= static_cast<std::size_t>(most.number)) return;
    out_.obstacles.push_back(fmt::format("{}: {} rows would be needed, the unit takes {} ({})", table.name,
                                         rows - removed, most.number, table.table->most->name));
  }

  const fleet::Unit& unit_;
  const AsFound& found_;
  Comparison out_;
};

}  // namespace

Comparison compare(const fleet::Unit& unit, const AsFound& found) {
  return Comparing(unit, found).take();
}

}  // namespace vergeset::change
