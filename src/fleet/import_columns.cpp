#include "fleet/import_columns.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "fleet/import_cells.h"
#include "smi/suggest.h"
#include "smi/words.h"

namespace vergeset::fleet {

namespace {

constexpr std::size_t rows_above_header = 50;

/// A header's words on one line.
std::string on_one_line(const std::string& cell) {
  std::string line;
  for (const char c : cell) {
    const bool blank = c == '\n' || c == '\t' || c == ' ';
    if (!blank) {
      line += c;
    } else if (!line.empty() && line.back() != ' ') {
      line += ' ';
    }
  }
  return line;
}

const AskedColumn* asked_of(const std::vector<AskedColumn>& asked, const std::string& header) {
  for (const bool any_case : {false, true}) {
    for (const AskedColumn& each : asked) {
      const bool same = any_case ? smi::lower(each.header) == smi::lower(header) : each.header == header;
      if (same) return &each;
    }
  }
  return nullptr;
}

/// How many cells of a row name a field.
std::size_t fields_named(const SheetRow& row, const std::vector<AskedColumn>& asked) {
  return static_cast<std::size_t>(
      std::count_if(row.cells.begin(), row.cells.end(), [&](const std::string& cell) {
        constexpr std::size_t longest = 80;
        if (cell.empty() || cell.size() > longest) return false;
        const std::string header = on_one_line(cell);
        return asked_of(asked, header) != nullptr || header_says(header).field.has_value();
      }));
}

Result<std::size_t> find_header(const Spreadsheet& sheet, const std::vector<AskedColumn>& asked, int line) {
  std::size_t best = 0;
  std::size_t named = 0;
  for (std::size_t i = 0; i < sheet.rows.size(); ++i) {
    if (line != 0 && sheet.rows[i].line == line) return i;
    if (line != 0 || i >= rows_above_header) continue;
    const std::size_t here = fields_named(sheet.rows[i], asked);
    if (here > named) best = i;
    named = std::max(named, here);
  }
  if (line != 0) return Problem{fmt::format("no row begins on line {}", line)};
  if (named > 0) return best;
  return Problem{
      "no line names a column that is known; say which line does with --header LINE, and what its columns "
      "are with "
      "--column 'THEIR NAME=FIELD'"};
}

ImportColumn column_under(const std::string& header, std::size_t at, const std::vector<AskedColumn>& asked,
                          int& rank) {
  ImportColumn column{header, at, {}, "", false, 0, ""};
  HeaderSays says = header_says(header);
  const AskedColumn* const wish = asked_of(asked, header);
  if (wish != nullptr) {
    if (!wish->field) {
      column.why = "as asked";
      rank = -1;
      return column;
    }
    // What the header says of a unit counts where it is about the same field.
    if (!says.field || says.field->name != wish->field->name) says = HeaderSays{};
    says.field = wish->field;
    if (!wish->unit.empty()) says.unit = wish->unit;
    says.rank = -1;
  }
  rank = says.rank;
  column.field = says.field;
  column.letter = says.letter;
  column.unit_stated = !says.unit.empty();
  if (column.field) column.unit = says.unit.empty() ? column.field->unit : says.unit;
  if (!says.unknown_unit.empty() && column.field->takes == ImportField::Takes::measure) {
    column.why = says.unknown_unit + " is no unit of it";
  }
  return column;
}

void set_aside(ImportColumn& column, const ImportColumn& better) {
  column.why = fmt::format("{} is taken from {}", column.field->name, better.header);
  column.field.reset();
}

/// Of several columns for one field the likeliest stays.
void leave_one_each(std::vector<ImportColumn>& columns, const std::vector<int>& ranks) {
  std::map<std::string, std::size_t> taken;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    if (!columns[i].field) continue;
    const auto [found, first] = taken.try_emplace(columns[i].field->name, i);
    if (first) continue;
    const bool better = ranks[i] < ranks[found->second];
    set_aside(columns[better ? found->second : i], columns[better ? i : found->second]);
    if (better) found->second = i;
  }
}

/// A cell with both coordinates is not needed where each has a column of its own.
void leave_one_position(ImportPlan& plan) {
  const ImportColumn* const latitude = plan.column_of("site.latitude");
  const ImportColumn* const longitude = plan.column_of("site.longitude");
  for (ImportColumn& column : plan.columns) {
    if (!column.field || column.field->name != "position" || (latitude == nullptr && longitude == nullptr))
      continue;
    set_aside(column, latitude != nullptr ? *latitude : *longitude);
  }
}

void add_line(std::string& text, const std::string& line) {
  text += (text.empty() ? "" : "\n") + line;
}

/// Every wish that no column fits, and every column that cannot be done without.
std::string what_lacks(const ImportPlan& plan, const std::vector<AskedColumn>& asked) {
  std::vector<std::string> headers;
  for (const ImportColumn& column : plan.columns) headers.push_back(column.header);
  std::string problems;
  for (const AskedColumn& each : asked) {
    const bool there = std::any_of(headers.begin(), headers.end(), [&](const std::string& header) {
      return smi::lower(header) == smi::lower(each.header);
    });
    if (there) continue;
    add_line(problems, fmt::format("line {} has no column {}{}", plan.line, smi::shown(each.header),
                                   smi::suggestion(each.header, headers)));
  }
  for (const std::string_view needed : {"unit", "address"}) {
    if (plan.column_of(needed) != nullptr) continue;
    add_line(
        problems,
        fmt::format("no column of line {} is known to be the {}; say which with --column 'THEIR NAME={}'",
                    plan.line, needed == "unit" ? "unit's name" : "address", needed));
  }
  return problems;
}

}  // namespace

const ImportColumn* ImportPlan::column_of(std::string_view field) const {
  for (const ImportColumn& column : columns) {
    if (column.field && column.field->name == field) return &column;
  }
  return nullptr;
}

Result<AskedColumn> parse_asked_column(const std::string& text) {
  const std::size_t equals = text.rfind('=');
  if (equals == std::string::npos || equals == 0) {
    return Problem{"expected 'THEIR NAME=FIELD', found " + smi::shown(text)};
  }
  AskedColumn asked;
  asked.header = on_one_line(std::string(smi::trimmed(text.substr(0, equals))));
  const std::string wish(smi::trimmed(text.substr(equals + 1)));
  if (wish == "none") return asked;
  const std::string name = wish.substr(0, wish.find(' '));
  asked.field = import_field(name);
  if (!asked.field) {
    std::vector<std::string> known = import_field_names();
    for (const std::string& field : import_field_names()) {
      if (field.rfind("site.", 0) == 0) known.push_back(field.substr(5));
    }
    return Problem{fmt::format("no field is called {}{}", smi::shown(name), smi::suggestion(name, known))};
  }
  const std::string unit(smi::trimmed(std::string_view(wish).substr(name.size())));
  if (unit.empty()) return asked;
  const auto spelt = asked.field->unit.empty() ? std::nullopt : unit_spelt(unit, asked.field->unit);
  if (!spelt) return Problem{fmt::format("{} is not counted in {}", asked.field->name, smi::shown(unit))};
  asked.unit = *spelt;
  return asked;
}

Result<ImportPlan> plan_import(const Spreadsheet& sheet, const std::vector<AskedColumn>& asked,
                               int header_line) {
  const auto header = find_header(sheet, asked, header_line);
  if (!header) return Problem{header.problem()};
  const SheetRow& row = sheet.rows[*header];
  ImportPlan plan{*header, row.line, {}};
  std::vector<int> ranks;
  for (std::size_t at = 0; at < row.cells.size(); ++at) {
    if (row.cells[at].empty()) continue;
    ranks.push_back(0);
    plan.columns.push_back(column_under(on_one_line(row.cells[at]), at, asked, ranks.back()));
  }
  leave_one_each(plan.columns, ranks);
  leave_one_position(plan);
  const std::string problems = what_lacks(plan, asked);
  if (!problems.empty()) return Problem{problems};
  return plan;
}

}  // namespace vergeset::fleet
