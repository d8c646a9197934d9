#include "change/draft_say.h"

#include <fmt/format.h>

#include <algorithm>

#include "fleet/payload_file.h"
#include "fleet/substitute.h"
#include "smi/form.h"
#include "smi/quantity.h"

namespace vergeset::change {

namespace {

using Texts = std::vector<std::string>;

std::string braces_doubled(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '{' || c == '}') out += c;
    out += c;
  }
  return out;
}

/// The common words for an object's own word.
void add_common_words(const fleet::Meaning& meaning, const smi::Value& value, Texts& out) {
  if (meaning.mapping == nullptr) return;
  const std::string own = smi::to_text(meaning.object->syntax, value);
  for (const auto& [common, of_object] : meaning.mapping->labels) {
    if (of_object == own) out.push_back(common);
  }
  if (!smi::of_kind(meaning.object->syntax, value) || value.type == smi::Type::octet_string) return;
  for (const smi::Label& label : meaning.common->labels) {
    if (label.number == value.number) out.push_back(label.name);
  }
}

bool is_count(const smi::Value& value) {
  return value.type == smi::Type::integer || value.type == smi::Type::gauge32 ||
         value.type == smi::Type::counter32;
}

/// A number with its unit of measure, first in the one that the common setting speaks of.
void add_quantities(const fleet::Meaning& meaning, const smi::Value& value, Texts& out) {
  if (!is_count(value)) return;
  const bool demanded = meaning.common != nullptr && !meaning.common->unit.empty();
  const std::string& own =
      meaning.object->unit.empty() && demanded ? meaning.common->unit : meaning.object->unit;
  if (own.empty()) return;
  if (demanded) {
    if (const auto text = quantity_in(value.number, own, meaning.common->unit)) out.push_back(*text);
  }
  out.push_back(smi::with_unit(value.number, own));
  if (value.number == -1 || value.number == 1) return;
  out.push_back(fmt::format("{} {}", value.number, own));
}

/// Names that stand for what the files know of a unit.
Texts substitutes_for(smi::Form form) {
  switch (form) {
    case smi::Form::display_string:
      return {"{unit}", "{site.place}, {site.pole}", "{site.place}", "{site.pole}", "{site.serial}"};
    case smi::Form::address_text:
    case smi::Form::address_octets:
    case smi::Form::ip_address:
      return {"{address}"};
    default:
      return {};
  }
}

Texts positions_for(const std::string& name) {
  if (name == "reference-latitude") return {"{site.latitude}"};
  if (name == "reference-longitude") return {"{site.longitude}"};
  if (name == "reference-elevation") return {"{site.elevation}"};
  return {};
}

Texts written_texts(const fleet::Meaning& meaning, const smi::Value& value) {
  const smi::Syntax& syntax = meaning.object->syntax;
  Texts texts;
  add_common_words(meaning, value, texts);
  const auto word = is_count(value) ? smi::word_of(syntax, value.number) : std::nullopt;
  if (word) texts.push_back(*word);
  add_quantities(meaning, value, texts);
  if (syntax.form == smi::Form::display_string) {
    const std::size_t end = value.octets.find_last_not_of('\0');
    texts.push_back(value.octets.substr(0, end == std::string::npos ? 0 : end + 1));
  } else if (value.octets.empty() && value.type == smi::Type::octet_string) {
    texts.emplace_back("none");
    texts.emplace_back();
  }
  texts.push_back(smi::to_text(syntax, value));
  if (is_count(value)) texts.push_back(std::to_string(value.number));
  return texts;
}

bool goes_into_file(const schema::Object& object, const smi::Value& value) {
  return object.syntax.wire() == smi::Type::octet_string && value.type == smi::Type::octet_string &&
         !value.octets.empty() && value.octets.size() <= fleet::most_payload &&
         !smi::violation(object.syntax, value);
}

/// Octets that are longer than a person compares by eye stand in a file.
constexpr std::size_t most_inline = 16;

bool comes_to(const std::string& text, const fleet::Unit& unit, const Cell& cell) {
  const auto whole = fleet::substitute(text, unit);
  if (!whole) return false;
  if (cell.meaning.from_payload()) {
    const auto id = fleet::message_id_for(*cell.meaning.common, *whole);
    return id && *id == cell.value.number;
  }
  const auto made = fleet::value_for(cell.meaning, cell.name, *whole);
  return made && smi::agree(cell.meaning.object->syntax, *made, cell.value);
}

void add_way(std::vector<Say>& ways, Say say) {
  if (std::find(ways.begin(), ways.end(), say) == ways.end()) ways.push_back(std::move(say));
}

}  // namespace

std::optional<std::string> quantity_in(std::int64_t number, const std::string& unit,
                                       const std::string& wanted) {
  // How many of `unit` one of `wanted` is, or the other way round.
  const smi::Quantity one{{1, 0}, wanted};
  if (const auto per = smi::in_unit(one, unit); per && *per > 0) {
    // A decimal that ends: multiply until it is whole.
    std::int64_t digits = number;
    for (int places = 0; places <= 7; ++places) {
      if (digits % *per == 0) {
        const smi::Decimal decimal{digits / *per, places};
        return fmt::format("{} {}", decimal.str(), wanted);
      }
      if (__builtin_mul_overflow(digits, std::int64_t{10}, &digits)) return std::nullopt;
    }
    return std::nullopt;
  }
  const auto times = smi::in_unit({{1, 0}, unit}, wanted);
  std::int64_t count = 0;
  if (!times || __builtin_mul_overflow(number, *times, &count)) return std::nullopt;
  return fmt::format("{} {}", count, wanted);
}

bool Cell::settled() const {
  return base != nullptr && smi::agree(base->object->syntax, base->value, value);
}

Cell cell_of(const fleet::Unit& unit, const std::string& name, const fleet::Meaning& meaning,
             const smi::Value& value) {
  Cell cell{Cell::State::free, name, meaning, value, nullptr, {}};
  if (value.absent()) return cell;
  cell.state = Cell::State::stuck;
  const schema::Object& object = *meaning.object;
  if (!smi::of_kind(object.syntax, value)) return cell;
  const bool filed = goes_into_file(object, value);
  const Say in_file{Say::Kind::file, {}, value.octets};
  const bool long_octets = object.syntax.form == smi::Form::octets && value.octets.size() > most_inline;
  if (filed && long_octets) add_way(cell.ways, in_file);
  const bool prose = object.syntax.form == smi::Form::display_string;
  Texts substitutes = positions_for(name);
  for (const std::string& text : substitutes_for(object.syntax.form)) substitutes.push_back(text);
  for (const std::string& text : substitutes) {
    if (comes_to(text, unit, cell)) add_way(cell.ways, {Say::Kind::text, text, {}, prose});
  }
  for (const std::string& text : written_texts(meaning, value)) {
    const std::string braced = braces_doubled(text);
    if (comes_to(braced, unit, cell)) add_way(cell.ways, {Say::Kind::text, braced, {}, prose});
  }
  if (filed) add_way(cell.ways, in_file);
  if (!cell.ways.empty()) cell.state = Cell::State::said;
  return cell;
}

Cell message_cell(const std::string& name, const fleet::Meaning& meaning, std::int64_t id) {
  Cell cell{Cell::State::said, name, meaning, smi::Value::integer(id), nullptr, {}};
  for (const smi::Label& label : meaning.common->labels) {
    if (label.number == id) cell.ways.push_back({Say::Kind::text, label.name});
  }
  if (cell.ways.empty()) cell.ways.push_back({Say::Kind::text, std::to_string(id)});
  return cell;
}

bool fits(const Say& say, const fleet::Unit& unit, const Cell& cell) {
  if (cell.state != Cell::State::said) return cell.state == Cell::State::free;
  if (std::find(cell.ways.begin(), cell.ways.end(), say) != cell.ways.end()) return true;
  return say.kind == Say::Kind::text && comes_to(say.text, unit, cell);
}

}  // namespace vergeset::change
