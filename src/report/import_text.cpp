#include "report/import_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

constexpr std::size_t told_in_full = 10;

std::string head(const ImportSource& source, const fleet::Import& import) {
  return fmt::format("{}: {}, parted by {}, header on line {}, {} below it", source.file, source.encoding,
                     source.delimiter, import.plan.line, counted(import.rows, "row"));
}

/// What is to be known of how a column is read.
std::string about_column(const fleet::ImportColumn& column) {
  if (!column.field) return column.why;
  std::string about;
  const std::string& own = column.field->unit;
  if (column.field->takes == fleet::ImportField::Takes::measure) {
    about = column.unit_stated && column.unit == own ? "in " + own
            : column.unit_stated                     ? fmt::format("from {} to {}", column.unit, own)
                                                     : fmt::format("no unit stated: taken as {}", own);
  }
  if (column.letter != 0) about = fmt::format("{}, as the header says", column.letter);
  if (!column.why.empty()) about += (about.empty() ? "" : "; ") + column.why;
  return about;
}

std::string columns_text(const Screen& screen, const fleet::ImportPlan& plan) {
  Table table(2, {"column", "becomes", ""});
  for (const fleet::ImportColumn& column : plan.columns) {
    table.add({column.header, column.field ? column.field->name : "not used", about_column(column)});
  }
  return table.text(screen);
}

/// "3, 7-9, 12": at most so many runs of lines.
std::string lines_text(const std::vector<int>& lines) {
  constexpr std::size_t most_runs = 40;
  std::string text;
  std::size_t runs = 0;
  std::size_t told = 0;
  for (std::size_t i = 0; i < lines.size() && runs < most_runs; ++runs) {
    std::size_t end = i + 1;
    while (end < lines.size() && lines[end] == lines[end - 1] + 1) ++end;
    text += text.empty() ? "" : ", ";
    text += end - i > 1 ? fmt::format("{}-{}", lines[i], lines[end - 1]) : fmt::format("{}", lines[i]);
    told = i = end;
  }
  if (told < lines.size()) text += fmt::format(" and {} more (--json has all)", lines.size() - told);
  return text;
}

/// Those of one kind stand together, in the order of the first of each kind.
std::string misfits_text(const Screen& screen, const std::vector<const fleet::Misfit*>& misfits) {
  std::vector<std::vector<const fleet::Misfit*>> kinds;
  std::map<std::pair<std::string, std::string>, std::size_t> kind_at;
  for (const fleet::Misfit* misfit : misfits) {
    const auto [found, first] = kind_at.try_emplace({misfit->column, misfit->wrong}, kinds.size());
    if (first) kinds.emplace_back();
    kinds[found->second].push_back(misfit);
  }
  Table table(2, {"line", "unit", "column", "found", "what is wrong"});
  for (const auto& kind : kinds) {
    for (std::size_t i = 0; i < std::min(kind.size(), told_in_full); ++i) {
      table.add(
          {std::to_string(kind[i]->line), kind[i]->unit, kind[i]->column, kind[i]->found, kind[i]->wrong});
    }
    if (kind.size() <= told_in_full) continue;
    std::vector<int> lines;
    for (std::size_t i = told_in_full; i < kind.size(); ++i) lines.push_back(kind[i]->line);
    table.add_below(fmt::format("and on {} more: {}", counted(lines.size(), "line"), lines_text(lines)));
  }
  return table.text(screen);
}

std::string section(const std::string& heading, const std::string& text) {
  return "\n" + heading + "\n" + text;
}

std::string questions_text(const Screen& screen, const fleet::Import& import) {
  Table table(2, {"line", "column", "found", "cells", "to decide"});
  for (const fleet::ImportQuestion& question : import.questions) {
    table.add({std::to_string(question.line), question.column, question.found, std::to_string(question.count),
               question.answer});
  }
  return section("To decide, and nothing is written before:", table.text(screen));
}

std::string left_text(const Screen& screen, const fleet::Import& import) {
  std::vector<const fleet::Misfit*> rows;
  std::vector<const fleet::Misfit*> cells;
  for (const fleet::Misfit& misfit : import.misfits) (misfit.left_out ? rows : cells).push_back(&misfit);
  std::string text;
  if (!rows.empty()) text += section("Rows that are left out:", misfits_text(screen, rows));
  if (!cells.empty()) text += section("Cells that are left empty:", misfits_text(screen, cells));
  return text;
}

std::string notes_text(const Screen& screen, const fleet::Import& import) {
  Table table(2, {"column", "cells", "first on", "what was done"});
  for (const fleet::ImportNote& note : import.notes) {
    table.add({note.column, std::to_string(note.count), fmt::format("line {}", note.line), note.text});
  }
  return section("Changed on the way:", table.text(screen));
}

std::string known_text(const Screen& screen, const fleet::Import& import) {
  Table table(2, {"line", "unit", "field", "in the fleet", "in the spreadsheet"});
  std::size_t same = 0;
  std::size_t left = 0;
  std::size_t told = 0;
  for (const fleet::KnownUnit& unit : import.known) {
    constexpr std::size_t most_lines = 200;
    same += unit.differing.empty() ? 1 : 0;
    for (const auto& field : unit.differing) {
      if (++told > most_lines) {
        ++left;
        continue;
      }
      table.add({std::to_string(unit.line), unit.unit, field.name,
                 field.in_fleet.empty() ? "nothing" : field.in_fleet, field.in_sheet});
    }
  }
  const std::size_t differ = import.known.size() - same;
  std::string text =
      section(fmt::format("In the fleet already, and left as there: {}; {} the same, {} otherwise",
                          counted(import.known.size(), "unit"), same, differ),
              table.empty() ? "" : table.text(screen));
  if (left > 0) text += fmt::format("  and {} more differences (--json has all)\n", left);
  return text;
}

Json fields_json(const std::map<std::string, std::string>& fields) {
  Json out = Json::object();
  for (const auto& [name, text] : fields) out[name] = text;
  return out;
}

Json column_json(const fleet::ImportColumn& column) {
  Json out{
      {"column", column.header}, {"field", nullptr}, {"unit", nullptr}, {"unit_stated", column.unit_stated}};
  if (column.field) out["field"] = column.field->name;
  if (!column.unit.empty()) out["unit"] = column.unit;
  out["why"] = column.why;
  return out;
}

Json known_json(const fleet::KnownUnit& unit) {
  Json differing = Json::array();
  for (const auto& field : unit.differing) {
    differing.push_back({{"field", field.name}, {"in_fleet", field.in_fleet}, {"in_sheet", field.in_sheet}});
  }
  return {{"line", unit.line}, {"unit", unit.unit}, {"differing", std::move(differing)}};
}

}  // namespace

std::string import_text(const Screen& screen, const ImportSource& source, const fleet::Import& import) {
  std::string text =
      paragraph(screen, printable(head(source, import))) + "\n" + columns_text(screen, import.plan);
  if (!import.questions.empty()) text += questions_text(screen, import);
  text += left_text(screen, import);
  if (!import.notes.empty()) text += notes_text(screen, import);
  if (!import.known.empty()) text += known_text(screen, import);
  return text;
}

Json import_json(const ImportSource& source, const fleet::Import& import) {
  Json out = document("import");
  out["file"] = source.file;
  out["encoding"] = source.encoding;
  out["delimiter"] = source.delimiter;
  out["header_line"] = import.plan.line;
  out["rows"] = import.rows;
  for (const char* list : {"columns", "questions", "misfits", "notes", "known", "units"})
    out[list] = Json::array();
  for (const fleet::ImportColumn& column : import.plan.columns) out["columns"].push_back(column_json(column));
  for (const fleet::ImportQuestion& each : import.questions) {
    out["questions"].push_back({{"line", each.line},
                                {"column", each.column},
                                {"found", each.found},
                                {"cells", each.count},
                                {"answer", each.answer}});
  }
  for (const fleet::Misfit& each : import.misfits) {
    out["misfits"].push_back({{"line", each.line},
                              {"unit", each.unit},
                              {"column", each.column},
                              {"found", each.found},
                              {"wrong", each.wrong},
                              {"left", each.left_out ? "row" : "cell"}});
  }
  for (const fleet::ImportNote& each : import.notes) {
    out["notes"].push_back(
        {{"line", each.line}, {"column", each.column}, {"cells", each.count}, {"text", each.text}});
  }
  for (const fleet::KnownUnit& unit : import.known) out["known"].push_back(known_json(unit));
  for (const fleet::ImportedUnit& unit : import.units) {
    out["units"].push_back({{"line", unit.line}, {"fields", fields_json(unit.fields)}});
  }
  return out;
}

}  // namespace vergeset::report
