#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "fleet/import_cells.h"
#include "smi/quantity.h"
#include "smi/units.h"
#include "smi/words.h"

namespace vergeset::fleet {

namespace {

/// The characters of a number at the front of a cell: sign, digits and marks.
std::size_t number_length(std::string_view cell) {
  std::size_t end = !cell.empty() && (cell.front() == '-' || cell.front() == '+') ? 1 : 0;
  while (end < cell.size() &&
         ((cell[end] >= '0' && cell[end] <= '9') || cell[end] == '.' || cell[end] == ',')) {
    ++end;
  }
  while (end > 0 && (cell[end - 1] == '.' || cell[end - 1] == ',')) --end;
  return end;
}

/// Whether the marks part groups of three digits, as those between thousands do.
bool parts_thousands(std::string_view number, char mark) {
  std::size_t at = number.find(mark);
  const std::size_t lead = at - (number.find_first_of("0123456789"));
  if (lead == 0 || lead > 3) return false;
  while (at != std::string_view::npos) {
    const std::size_t next = number.find(mark, at + 1);
    const std::size_t end = next == std::string_view::npos ? number.size() : next;
    if (end - at - 1 != 3) return false;
    at = next;
  }
  return true;
}

/// The marks of a number: what it has of each, and which stands last.
struct Marks {
  std::size_t points = 0;
  std::size_t commas = 0;
  char last = 0;
};

Marks marks_of(std::string_view number) {
  Marks marks;
  for (const char c : number) {
    if (c != '.' && c != ',') continue;
    ++(c == '.' ? marks.points : marks.commas);
    marks.last = c;
  }
  return marks;
}

DecimalMark mark_named(char c) {
  return c == ',' ? DecimalMark::comma : DecimalMark::point;
}

constexpr std::array<std::pair<std::string_view, std::string_view>, 31> trade_units{
    {{"'", "ft"},       {"\u2032", "ft"},      {"\u2019", "ft"},   {"lf", "ft"},
     {"fts", "ft"},     {"linear feet", "ft"}, {"\"", "in"},       {"\u2033", "in"},
     {"\u201d", "in"},  {"ins", "in"},         {"mtr", "m"},       {"mtrs", "m"},
     {"mts", "m"},      {"mt", "m"},           {"masl", "m"},      {"m asl", "m"},
     {"v", "V"},        {"volt", "V"},         {"volts", "V"},     {"vdc", "V"},
     {"v dc", "V"},     {"volts dc", "V"},     {"ohm", "ohm"},     {"ohms", "ohm"},
     {"\u03a9", "ohm"}, {"\u2126", "ohm"},     {"dec deg", "deg"}, {"decimal degrees", "deg"},
     {"dd", "deg"},     {"\u00ba", "deg"},     {"db", "dB"}}};

std::string plain_decimal(double number, int decimals) {
  std::string text = fmt::format("{:.{}f}", number, decimals);
  if (text.find('.') != std::string::npos) text.erase(text.find_last_not_of('0') + 1);
  if (!text.empty() && text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

double as_number(const smi::Decimal& decimal) {
  return static_cast<double>(decimal.digits) / std::pow(10.0, decimal.places);
}

/// How many of the first unit are one of the other; both convert into each other.
double worth(const smi::Measure& of, const smi::Measure& in) {
  const auto times = [](const smi::Measure& measure) {
    return as_number(measure.some) * static_cast<double>(measure.unit->times) /
           static_cast<double>(measure.unit->per);
  };
  return times(of) / times(in);
}

Problem wants(const std::string& unit) {
  return {fmt::format("expected a number of {}", unit)};
}

/// 5' 6" and 5 ft 6 in; nothing where it is no such length.
std::optional<double> feet_and_inches(std::string_view cell) {
  const std::size_t end = number_length(cell);
  const auto feet = smi::Decimal::parse(cell.substr(0, end));
  if (!feet) return std::nullopt;
  std::string_view behind = smi::trimmed(cell.substr(end));
  const std::size_t next = behind.find_first_of("0123456789");
  if (next == std::string_view::npos || unit_spelt(behind.substr(0, next), "m") != "ft") return std::nullopt;
  behind.remove_prefix(next);
  const std::size_t inches_end = number_length(behind);
  const auto inches = smi::Decimal::parse(behind.substr(0, inches_end));
  if (!inches || unit_spelt(behind.substr(inches_end), "m") != "in") return std::nullopt;
  return as_number(*feet) * 0.3048 + as_number(*inches) * 0.0254;
}

}  // namespace

DecimalMark mark_told_by(std::string_view cell) {
  cell = smi::trimmed(cell);
  const std::string_view number = cell.substr(0, number_length(cell));
  const Marks marks = marks_of(number);
  if (marks.last == 0) return DecimalMark::undecided;
  if (marks.points > 0 && marks.commas > 0) return mark_named(marks.last);
  if (marks.points + marks.commas > 1) return mark_named(marks.last == ',' ? '.' : ',');
  // Three digits behind a lone mark may be a thousand's; behind a nought they may not.
  const std::size_t at = number.find(marks.last);
  const bool nought = number.substr(0, at) == "0" || number.substr(0, at) == "-0";
  return parts_thousands(number, marks.last) && !nought ? DecimalMark::undecided : mark_named(marks.last);
}

std::optional<std::string> with_point(std::string_view cell, DecimalMark mark) {
  const std::size_t end = number_length(cell);
  const std::string_view number = cell.substr(0, end);
  if (marks_of(number).last == 0) return std::string(cell);
  const DecimalMark told = mark_told_by(number);
  const DecimalMark decimal = told == DecimalMark::undecided ? mark : told;
  if (decimal == DecimalMark::undecided) return std::nullopt;
  const char point = decimal == DecimalMark::comma ? ',' : '.';
  const char between = point == ',' ? '.' : ',';
  const std::size_t at = number.find(point);
  std::string whole(number.substr(0, at));
  if (whole.find(between) != std::string::npos && !parts_thousands(whole, between)) return std::string(cell);
  std::erase(whole, between);
  if (at == std::string_view::npos) return whole + std::string(cell.substr(end));
  return whole + "." + std::string(cell.substr(at + 1));
}

std::optional<std::string> unit_spelt(std::string_view word, const std::string& wanted) {
  std::string small = smi::lower(smi::trimmed(word));
  while (small.size() > 1 && small.back() == '.') small.pop_back();
  if (small.empty()) return std::nullopt;
  std::string unit = small;
  for (const auto& [spelling, meant] : trade_units) {
    if (small == spelling) unit = meant;
  }
  if (unit == smi::lower(wanted)) return wanted;
  return smi::same_dimension(unit, wanted) ? std::optional(unit) : std::nullopt;
}

Result<std::string> measure_of_cell(std::string_view cell, const std::string& unit,
                                    const std::string& bare_unit) {
  for (const std::string_view sign : {"\u00b1", "+/-", "+-"}) {
    if (cell.starts_with(sign)) cell = smi::trimmed(cell.substr(sign.size()));
  }
  const bool length = smi::same_dimension(unit, "m");
  const int decimals = length ? 3 : 4;
  if (length) {
    const auto both = feet_and_inches(cell);
    if (both && unit == "m") return plain_decimal(*both, decimals);
  }
  const std::size_t end = number_length(cell);
  const auto number = smi::Decimal::parse(cell.substr(0, end));
  if (!number) return wants(unit);
  const std::string_view behind = smi::trimmed(cell.substr(end));
  const auto own = behind.empty() ? std::optional(bare_unit) : unit_spelt(behind, unit);
  if (!own) return wants(unit);
  if (*own == unit) return number->str();
  const auto from = smi::measure_of(*own);
  const auto to = smi::measure_of(unit);
  if (!from || !to) return wants(unit);
  return plain_decimal(as_number(*number) * worth(*from, *to), decimals);
}

}  // namespace vergeset::fleet
