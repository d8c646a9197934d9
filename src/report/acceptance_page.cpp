#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

#include "report/acceptance_paper.h"
#include "report/acceptance_style.h"
#include "report/acceptance_words.h"
#include "report/fleet_text.h"
#include "report/markup.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

constexpr std::size_t longest_name = 60;

/// Text from outside as text of the page: short, inert, and no markup.
std::string page_text(const std::string& text) {
  return as_markup(cell_text(text));
}

std::string page_cell(const PaperList& list, std::size_t column, const std::string& text) {
  const bool titled = column < list.titles.size() && !list.titles[column].empty();
  const std::string title = titled ? fmt::format(" data-title=\"{}\"", list.titles[column]) : "";
  if (text.empty()) return fmt::format("<td{}></td>", title);
  return fmt::format("<td{}><div class=\"fit\">{}</div></td>", title, page_text(text));
}

std::string page_row(const PaperList& list, std::size_t row) {
  const int lines = row < list.lines.size() ? list.lines[row] : 1;
  std::string out = fmt::format("<tr class=\"n{}\">", lines);
  for (std::size_t i = 0; i < list.rows[row].size(); ++i) out += page_cell(list, i, list.rows[row][i]);
  return out + "</tr>\n";
}

/// What stands above the rows of a table: how wide its columns are, and their titles.
std::string page_columns(const PaperList& list) {
  std::string out = "<colgroup>";
  for (const double share : list.shares) out += fmt::format("<col style=\"width:{:.1f}%\">", 100 * share);
  out += "</colgroup>\n";
  if (list.titles.empty()) return out;
  out += "<thead><tr>";
  for (const std::string& title : list.titles) out += fmt::format("<th scope=\"col\">{}</th>", title);
  return out + "</tr></thead>\n";
}

/// Rows [from, to) in tables side by side.
std::string page_tables(const PaperList& list, std::size_t from, std::size_t to, const char* kind) {
  if (from == to) return {};
  std::string out = fmt::format("<div class=\"across{}\" style=\"--across:{}\">\n", kind, list.across);
  for (int part = 0; part < list.across; ++part) {
    const PaperPart of = paper_part(to - from, list.across, part);
    if (of.from == of.to) continue;
    out += "<table>" + page_columns(list) + "<tbody>\n";
    for (std::size_t i = of.from; i < of.to; ++i) out += page_row(list, from + i);
    out += "</tbody></table>\n";
  }
  return out + "</div>\n";
}

/// The class of a list by its columns.
const char* list_kind(const PaperList& list) {
  if (!list.titles.empty()) return "titled";
  return list.shares.size() == 2 ? "named" : "told";
}

std::string page_list(const PaperList& list, const std::string& place) {
  const std::size_t more = list.rows.size() - list.shown;
  std::string out = fmt::format("<section class=\"{} {}\">\n", list.name, list_kind(list));
  if (!list.heading.empty()) out += fmt::format("<h2>{}</h2>\n", page_text(list.heading));
  out += page_tables(list, 0, list.shown, "");
  out += page_tables(list, list.shown, list.rows.size(), " beyond");
  if (more > 0) {
    out += fmt::format("<p class=\"more paper n1\"><span class=\"fit\">and {} more: {}</span></p>\n", more,
                       page_text(place));
  }
  if (!list.below.empty()) {
    out += fmt::format("<p class=\"below n{}\"><span class=\"fit\">{}</span></p>\n", list.lines_below,
                       page_text(list.below));
  }
  return out + "</section>\n";
}

PaperList named_list(std::string name, std::string heading, const std::vector<Acceptance::Field>& fields) {
  PaperList list;
  list.name = std::move(name);
  list.heading = std::move(heading);
  list.shares = {0.46, 0.54};
  for (const Acceptance::Field& field : fields) list.rows.push_back({field.name, field.text});
  list.least_across = 2;
  list.most_across = 3;
  return list;
}

PaperList titled_list(std::string name, std::string heading, std::vector<std::string> titles,
                      std::vector<double> shares) {
  PaperList list;
  list.name = std::move(name);
  list.heading = std::move(heading);
  list.titles = std::move(titles);
  list.shares = std::move(shares);
  return list;
}

PaperList findings_list(const Acceptance& sheet) {
  PaperList list = titled_list("findings", "Open findings: " + open_findings_count(sheet),
                               {"severity", "finding", "source"}, {0.12, 0.59, 0.29});
  for (const checks::Finding& finding : open_findings(sheet)) {
    list.rows.push_back({std::string(fleet::severity_name(finding.severity)), finding.text, finding.source});
  }
  list.keep = 10;
  return list;
}

PaperList identity_list(const Acceptance& sheet) {
  PaperList list = named_list("identity", "", identity(sheet));
  list.shares = {0.3, 0.7};
  list.most_across = 2;
  return list;
}

PaperList site_list(const Acceptance& sheet) {
  PaperList list = named_list("site", "Site record", recorded(sheet));
  const std::string missing = not_recorded(sheet);
  if (!missing.empty()) list.below = "not recorded: " + missing;
  return list;
}

PaperList checks_list(const Acceptance& sheet) {
  PaperList list = titled_list("checks", "Checks at the pole", {"check", "answer", "note", "who", "when"},
                               {0.26, 0.13, 0.25, 0.15, 0.21});
  for (const Acceptance::Check& check : sheet.checks) {
    list.rows.push_back({check.states, check.answer, check.note, check.who, time_text(check.at)});
  }
  if (list.rows.empty()) list.below = "none were made";
  list.keep = 16;
  return list;
}

PaperList stages_list(const Acceptance& sheet) {
  PaperList list =
      titled_list("stages", "Stages", {"stage", "result", "", "who", "when"}, {0.11, 0.15, 0.38, 0.15, 0.21});
  for (const Acceptance::Stage& stage : sheet.stages) {
    list.rows.push_back({stage.name, stage.result, stage.text, stage.who, time_text(stage.at)});
  }
  if (list.rows.empty()) list.below = "none were made";
  return list;
}

PaperList settings_list(const Acceptance& sheet) {
  const std::size_t count = sheet.settings.size();
  PaperList list = titled_list("settings", fmt::format("Settings: {} changed", count),
                               {"setting", "as found", "as left"}, {0.4, 0.3, 0.3});
  for (const Acceptance::Setting& setting : sheet.settings) {
    list.rows.push_back({setting.name, setting.as_found, setting.as_left});
  }
  if (list.rows.empty()) list.heading = "Settings: none were changed";
  list.most_across = 2;
  return list;
}

PaperList position_list(const Acceptance& sheet) {
  PaperList list = titled_list("position", "Position", {"", "surveyed", "found"}, {0.24, 0.38, 0.38});
  for (const Acceptance::Field& field : sheet.position) {
    list.rows.push_back({field.name, field.text, field.measured});
  }
  if (list.rows.empty()) list.below = "not looked at";
  return list;
}

/// A list of texts.
PaperList lines_list(std::string name, std::string heading, const std::vector<std::string>& lines) {
  PaperList list;
  list.name = std::move(name);
  list.heading = std::move(heading);
  list.shares = {1};
  for (const std::string& line : lines) list.rows.push_back({line});
  return list;
}

std::string side_head(const Acceptance& sheet, int side) {
  const std::string title = page_text(shortened_to(sheet.unit, longest_name, "\u2026"));
  const char* const level = side == 1 ? "h1" : "p";
  return fmt::format(
      "<header{}><{} class=\"unit\">Acceptance sheet <b>{}</b></{}>"
      "<span class=\"paper\">side {} of 2</span></header>\n",
      side == 1 ? "" : " class=\"paper\"", level, title, level, side);
}

/// Room to write by hand.
std::string signature_lines() {
  std::string out =
      "<section class=\"sign titled\">\n<h2>Signatures</h2>\n<table><colgroup><col style=\"width:22%\">"
      "<col style=\"width:30%\"><col style=\"width:30%\"><col style=\"width:18%\"></colgroup>\n"
      "<thead><tr><th></th><th>name</th><th>signature</th><th>date</th></tr></thead><tbody>\n";
  for (const std::string_view signer : signers()) {
    out += fmt::format(
        "<tr><td>{}</td><td data-title=\"name\"></td><td data-title=\"signature\"></td>"
        "<td data-title=\"date\"></td></tr>\n",
        signer);
  }
  return out + "</tbody></table>\n</section>\n";
}

constexpr double head_height = 24;
constexpr double verdict_height = 40;
constexpr double signatures_height = 19 + 14 + 3 * 24;

std::string first_side(const Acceptance& sheet) {
  std::vector<PaperList> lists{identity_list(sheet), findings_list(sheet), site_list(sheet),
                               checks_list(sheet)};
  const PaperType type = fit_side(lists, paper_height - head_height - verdict_height - signatures_height);
  std::string out = fmt::format("<div class=\"side {}\">\n", type.name) + side_head(sheet, 1);
  out += fmt::format("<p class=\"verdict n2\"><span class=\"fit\">{}</span></p>\n",
                     page_text(verdict_text(sheet)));
  for (const PaperList& list : lists) out += page_list(list, records_place(sheet));
  return out + signature_lines() + "</div>\n";
}

std::string second_side(const Acceptance& sheet) {
  std::vector<PaperList> lists{stages_list(sheet), settings_list(sheet), position_list(sheet)};
  lists.push_back(lines_list("keys", "Keys", sheet.keys));
  if (sheet.keys.empty()) lists.back().below = "none were changed";
  lists.push_back(lines_list("cautions", "Cautions", sheet.cautions));
  lists.back().least_lines = 2;
  const PaperType type = fit_side(lists, paper_height - head_height);
  std::string out = fmt::format("<div class=\"side {}\">\n", type.name) + side_head(sheet, 2);
  for (const PaperList& list : lists) out += page_list(list, records_place(sheet));
  return out + "</div>\n";
}

}  // namespace

std::string acceptance_page(const Acceptance& sheet) {
  std::string out = "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
  // Should anything from outside ever pass for markup, it can load and run nothing.
  out +=
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src "
      "'unsafe-inline'\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n";
  out += fmt::format("<title>Acceptance sheet {}</title>\n",
                     page_text(shortened_to(sheet.unit, longest_name, "\u2026")));
  out += fmt::format("<style>{}</style>\n</head>\n<body>\n<main>\n", acceptance_style());
  return out + first_side(sheet) + second_side(sheet) + "</main>\n</body>\n</html>\n";
}

}  // namespace vergeset::report
