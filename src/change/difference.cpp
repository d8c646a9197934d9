#include "change/difference.h"

#include <fmt/format.h>

#include <algorithm>

#include "smi/quantity.h"

namespace vergeset::change {

std::string in_words(const smi::Syntax& syntax, const std::string& unit, const smi::Value& value) {
  const bool number = value.type == smi::Type::integer || value.type == smi::Type::counter32 ||
                      value.type == smi::Type::gauge32;
  const bool counted = syntax.form == smi::Form::integer && number && !unit.empty();
  if (counted && !smi::word_of(syntax, value.number)) return smi::with_unit(value.number, unit);
  const bool octet = value.type == smi::Type::octet_string && value.octets.size() == 1;
  if (syntax.form == smi::Form::octet_number && octet && !unit.empty()) {
    return smi::with_unit(static_cast<unsigned char>(value.octets.front()), unit);
  }
  return smi::to_text(syntax, value);
}

std::string Item::as_found_text() const {
  if (!found_words.empty()) return found_words;
  return in_words(syntax, unit, as_found);
}
std::string Item::desired_text() const {
  return in_words(syntax, unit, desired);
}

bool Difference::standby() const {
  const auto needs = [](const Item& item) { return item.needs_standby; };
  if (kind == Kind::make_row || kind == Kind::remove_row) return row.needs_standby;
  const bool remade = kind == Kind::change_row && row.edit == schema::RowEdit::remake && row.needs_standby;
  return remade || std::any_of(items.begin(), items.end(), needs);
}

bool Difference::cuts_off() const {
  return std::any_of(items.begin(), items.end(), [](const Item& item) { return item.cuts_off; });
}

std::string Difference::title() const {
  return is_row() ? fmt::format("{} (row {})", name, row.index) : name;
}

}  // namespace vergeset::change
