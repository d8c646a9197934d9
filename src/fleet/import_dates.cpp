#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <vector>

#include "fleet/import_cells.h"
#include "smi/words.h"

namespace vergeset::fleet {

namespace {

/// A part of a date: digits, or letters.
struct DatePart {
  std::string text;  ///< in lower case
  bool digits = false;
  unsigned number = 0;
};

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}
bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || static_cast<unsigned char>(c) >= 0x80;
}

/// The digits and words of a text; what stands between them is no part of a date.
std::vector<DatePart> date_parts(std::string_view cell) {
  const std::string small = smi::lower(cell);
  std::vector<DatePart> parts;
  for (std::size_t at = 0; at < small.size() && parts.size() < 8;) {
    const auto same = is_digit(small[at]) ? is_digit : is_letter;
    if (!is_digit(small[at]) && !is_letter(small[at])) {
      ++at;
      continue;
    }
    const std::size_t start = at;
    while (at < small.size() && same(small[at])) ++at;
    DatePart part{small.substr(start, at - start), is_digit(small[start]), 0};
    const auto number = part.digits && part.text.size() <= 4 ? smi::whole_number(part.text) : std::nullopt;
    part.number = static_cast<unsigned>(number.value_or(0));
    parts.push_back(std::move(part));
  }
  return parts;
}

/// English names of months and their first three letters; 0 for any other word.
unsigned month_named(const std::string& word) {
  constexpr std::array<std::string_view, 12> names{"january",   "february", "march",    "april",
                                                   "may",       "june",     "july",     "august",
                                                   "september", "october",  "november", "december"};
  for (unsigned i = 0; i < names.size(); ++i) {
    if (word == names[i] || word == names[i].substr(0, 3) || (word == "sept" && i == 8)) return i + 1;
  }
  return 0;
}

std::optional<std::string> iso_date(unsigned year, unsigned month, unsigned day) {
  if (year < 100) year += 2000;
  const std::chrono::year_month_day date(std::chrono::year(static_cast<int>(year)), std::chrono::month(month),
                                         std::chrono::day(day));
  if (!date.ok() || year < 1970 || year > 2199) return std::nullopt;
  return fmt::format("{:04}-{:02}-{:02}", year, month, day);
}

bool is_year(const DatePart& part) {
  return part.digits && (part.text.size() == 4 || part.text.size() == 2);
}
bool is_day_or_month(const DatePart& part) {
  return part.digits && part.text.size() <= 2;
}

struct Numeric {
  unsigned first = 0;
  unsigned second = 0;
  unsigned year = 0;
};

/// 6/10/2024 and the like: two numbers in front of a year.
std::optional<Numeric> numeric_date(const std::vector<DatePart>& parts) {
  if (parts.size() < 3 || !is_day_or_month(parts[0]) || !is_day_or_month(parts[1]) || !is_year(parts[2])) {
    return std::nullopt;
  }
  return Numeric{parts[0].number, parts[1].number, parts[2].number};
}

/// What does not hang on an order of day and month: the year in front, or the month as a word.
std::optional<std::string> plain_date(const std::vector<DatePart>& parts) {
  if (parts.size() == 1 && parts[0].digits && parts[0].text.size() == 8) {
    const auto number = static_cast<unsigned>(*smi::whole_number(parts[0].text));
    return iso_date(number / 10000, number / 100 % 100, number % 100);
  }
  if (parts.size() < 3) return std::nullopt;
  const DatePart& one = parts[0];
  const DatePart& two = parts[1];
  const DatePart& three = parts[2];
  if (one.text.size() == 4 && one.digits && is_day_or_month(two) && is_day_or_month(three)) {
    return iso_date(one.number, two.number, three.number);
  }
  if (is_day_or_month(one) && month_named(two.text) != 0 && is_year(three)) {
    return iso_date(three.number, month_named(two.text), one.number);
  }
  if (month_named(one.text) != 0 && is_day_or_month(two) && is_year(three)) {
    return iso_date(three.number, month_named(one.text), two.number);
  }
  return std::nullopt;
}

/// The parts of the date alone: what stands behind it may be a time of day and nothing else.
/// 2024-06-10T08:30:00Z, 6/10/2024 8:30:00 AM.
bool time_behind(std::string_view cell, const std::vector<DatePart>& parts) {
  if (parts.size() <= 3) return true;
  if (cell.find(':') == std::string_view::npos) return false;
  return std::all_of(parts.begin() + 3, parts.end(), [](const DatePart& part) {
    return part.digits || part.text == "t" || part.text == "z" || part.text == "am" || part.text == "pm";
  });
}

/// What may stand between the parts of a date and of a time.
bool only_date_marks(std::string_view cell) {
  return cell.size() <= 40 && std::all_of(cell.begin(), cell.end(), [](char c) {
           return is_digit(c) || is_letter(smi::lower(std::string_view(&c, 1)).front()) ||
                  std::string_view(" /-.,:+'").find(c) != std::string_view::npos;
         });
}

}  // namespace

DateOrder order_told_by(std::string_view cell) {
  const auto numeric = numeric_date(date_parts(cell));
  if (!numeric) return DateOrder::undecided;
  if (numeric->first > 12 && numeric->second <= 12) return DateOrder::day_first;
  if (numeric->second > 12 && numeric->first <= 12) return DateOrder::month_first;
  return DateOrder::undecided;
}

Result<std::optional<std::string>> date_of(std::string_view cell, DateOrder order) {
  const auto parts = date_parts(cell);
  const bool day_number = parts.size() == 1 && parts[0].digits && parts[0].text.size() == 5;
  if (day_number) {
    return Problem{
        "expected a date, and this is a spreadsheet program's number of days; format the column as a date"};
  }
  const Problem no_date{"expected a date as in 2026-05-01"};
  if (!only_date_marks(cell) || !time_behind(cell, parts)) return no_date;
  if (auto date = plain_date(parts)) return date;
  const auto numeric = numeric_date(parts);
  if (!numeric) return no_date;
  const auto day_first = iso_date(numeric->year, numeric->second, numeric->first);
  const auto month_first = iso_date(numeric->year, numeric->first, numeric->second);
  if (!day_first && !month_first) return no_date;
  if (day_first == month_first) return day_first;
  if (day_first && month_first && order == DateOrder::undecided) return std::optional<std::string>();
  const bool by_day = order == DateOrder::day_first || (order == DateOrder::undecided && day_first);
  if (by_day && !day_first) return Problem{"expected day/month/year, as --dates day-first says"};
  if (!by_day && !month_first) return Problem{"expected month/day/year, as --dates month-first says"};
  return by_day ? day_first : month_first;
}

}  // namespace vergeset::fleet
