#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "smi/result.h"

namespace vergeset::fleet {

/// What stands in the cells of an agency's spreadsheet, in the forms of our own files. Each gives the text
/// for units.csv, or a problem that says what was expected; nothing is guessed where two readings are
/// possible.

enum class DateOrder { undecided, day_first, month_first };
enum class DecimalMark { undecided, point, comma };

/// A cell that is left out because it says that there is nothing: "n/a", "tbd", "-", "?".
bool says_nothing(std::string_view cell);

/// A cell in which a spreadsheet program shows its own error ("#REF!") or a number that it has shortened
/// ("1.23E+11", whose last digits are lost): what is wrong; empty where it is neither.
std::string spoilt(std::string_view cell);

/// 2026-05-01 out of 2026-05-01, 2026/5/1, 5/1/2026, 1.5.26, 1 May 2026, May 1, 2026, 1-May-26, with or
/// without a time of day behind it. A year of two digits is of this century. Nothing where day and month
/// could be each other and `order` does not decide.
Result<std::optional<std::string>> date_of(std::string_view cell, DateOrder order);
/// The order of day and month that the cell itself settles: 25/6/2024 is day first. Nothing settled by
/// others.
DateOrder order_told_by(std::string_view cell);

/// The decimal mark that the cell itself settles: "12,5" and "1.234,5" have a comma, "54.8999" a point;
/// "1,234" and "1.234" may have either.
DecimalMark mark_told_by(std::string_view cell);
/// A number with a decimal point and no marks between thousands, with what stands behind it as it is. Nothing
/// where the mark could be either.
std::optional<std::string> with_point(std::string_view cell, DecimalMark mark);

/// A bare number of `unit`, out of a number that may have a unit of its own behind it (120 ft, 5' 6", +/-
/// 0.05 m), and is otherwise in `bare_unit`. Lengths that are converted are rounded to millimetres, all else
/// to four decimals. `cell` has a decimal point.
Result<std::string> measure_of_cell(std::string_view cell, const std::string& unit,
                                    const std::string& bare_unit);
/// The unit of measure as smi/quantity.h spells it, for trade spellings too ("feet", "LF", "VDC", "ohms",
/// "'"); nothing where it is none that converts into `wanted`.
std::optional<std::string> unit_spelt(std::string_view word, const std::string& wanted);

/// Degrees north or east of an angle: 54.8999, -20.03, 20.03 W, W 20.03, 54°53'59.7"N, 54 53 59.7 N,
/// 54-53.995 N. Whole degrees, minutes and seconds become degrees of seven decimals, about a centimetre;
/// degrees stay as written. `letter` is N, S, E or W where the header says so, and counts where the cell has
/// neither letter nor sign; 0 otherwise. `cell` has decimal points.
Result<std::string> degrees_of(std::string_view cell, bool latitude, char letter);

/// 00:1a:2b:3c:4d:5e out of 12 hex digits in any of the usual groupings.
Result<std::string> hardware_address_of(std::string_view cell);

/// "yes" or "no".
Result<std::string> yes_no_of(std::string_view cell);

/// Address and port out of "10.1.2.3", "10.1.2.3:161", "[2001:db8::7]:161", "10.1.2.3/24",
/// "http://10.1.2.3/login". What is left out of it stands in `without` ("/24").
struct HostPort {
  std::string host;
  std::string port;  ///< empty where none stands there
  std::string without;
};
Result<HostPort> host_port_of(std::string_view cell);

/// A unit's name: runs of blanks and marks that may not stand in one become a dash ("RSU 12 (Main & 1st)" is
/// RSU-12-Main-1st). A problem where what comes out is no name (names.h).
Result<std::string> unit_name_of(std::string_view cell);

}  // namespace vergeset::fleet
