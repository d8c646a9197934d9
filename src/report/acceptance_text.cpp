#include <fmt/format.h>

#include <algorithm>

#include "report/acceptance_words.h"
#include "report/fleet_text.h"
#include "report/table.h"
#include "report/words.h"
#include "report/wrap.h"

namespace vergeset::report {

namespace {

constexpr int sheet_width = 80;
constexpr std::size_t longest_title = 56;
constexpr std::size_t longest_text = 400;  ///< of what a unit or a file says; more of it is in the records

std::string bounded(const std::string& text) {
  return shortened_to(text, longest_text, "...");
}

std::string sheet_heading(const Screen& screen, const std::string& title, const std::string& count = {}) {
  return "\n" + bold(screen, title) + (count.empty() ? "" : ": " + count) + "\n";
}

std::string identity_text(const Screen& screen, const Acceptance& sheet) {
  Table table(2);
  for (const Acceptance::Field& field : identity(sheet)) table.add({field.name, bounded(field.text)});
  return bold(screen, "Acceptance sheet   " + shortened_to(printable(sheet.unit), longest_title, "...")) +
         "\n" + paragraph(screen, bounded(verdict_text(sheet))) + "\n" + table.text(screen);
}

std::string findings_section(const Screen& screen, const Acceptance& sheet) {
  std::string out = sheet_heading(screen, "Open findings", open_findings_count(sheet));
  if (sheet.findings.empty()) return out;
  Table table(2);
  for (const checks::Finding& finding : open_findings(sheet)) {
    table.add({std::string(fleet::severity_name(finding.severity)),
               bounded(fmt::format("{} ({})", finding.text, finding.source))});
  }
  return out + table.text(screen);
}

std::string site_section(const Screen& screen, const Acceptance& sheet) {
  std::string out = sheet_heading(screen, "Site record");
  Table table(2);
  for (const Acceptance::Field& field : recorded(sheet)) table.add({field.name, bounded(field.text)});
  if (!table.empty()) out += table.text(screen);
  const std::string missing = not_recorded(sheet);
  if (!missing.empty()) out += paragraph(screen, "not recorded: " + bounded(missing), 2);
  return out;
}

std::string checks_section(const Screen& screen, const Acceptance& sheet) {
  if (sheet.checks.empty()) return sheet_heading(screen, "Checks at the pole", "none were made");
  Table table(2, {"check", "answer", "who", "when"});
  for (const Acceptance::Check& check : sheet.checks) {
    table.add({bounded(check.states), bounded(check.answer), bounded(check.who), time_text(check.at)});
    if (!check.note.empty()) table.add_below(bounded(check.note));
  }
  return sheet_heading(screen, "Checks at the pole") + table.text(screen);
}

std::string stages_section(const Screen& screen, const Acceptance& sheet) {
  if (sheet.stages.empty()) return sheet_heading(screen, "Stages", "none were made");
  Table table(2, {"stage", "result", "who", "when"});
  for (const Acceptance::Stage& stage : sheet.stages) {
    table.add({bounded(stage.name), bounded(stage.result), bounded(stage.who), time_text(stage.at)});
    if (!stage.text.empty()) table.add_below(bounded(stage.text));
  }
  return sheet_heading(screen, "Stages") + table.text(screen);
}

std::string settings_section(const Screen& screen, const Acceptance& sheet) {
  if (sheet.settings.empty()) return sheet_heading(screen, "Settings", "none were changed");
  Table table(2, {"setting", "as found", "as left"});
  for (const Acceptance::Setting& setting : sheet.settings) {
    table.add({bounded(setting.name), bounded(setting.as_found), bounded(setting.as_left)});
  }
  return sheet_heading(screen, "Settings", counted(sheet.settings.size(), "changed", "changed")) +
         table.text(screen);
}

std::string position_section(const Screen& screen, const Acceptance& sheet) {
  if (sheet.position.empty()) return sheet_heading(screen, "Position", "not looked at");
  Table table(2, {"", "surveyed", "found"});
  for (const Acceptance::Field& field : sheet.position) {
    table.add({bounded(field.name), bounded(field.text), bounded(field.measured)});
  }
  return sheet_heading(screen, "Position") + table.text(screen);
}

std::string keys_section(const Screen& screen, const Acceptance& sheet) {
  if (sheet.keys.empty()) return sheet_heading(screen, "Keys", "none were changed");
  std::string out = sheet_heading(screen, "Keys");
  for (const std::string& line : sheet.keys) out += paragraph(screen, bounded(line), 2);
  return out;
}

/// Room to write by hand: a line for each name, with its own for the signature and the date below.
std::string signatures_section(const Screen& screen) {
  std::string out = sheet_heading(screen, "Signatures");
  const int name = std::max(8, screen.width - 32);
  const int signature = std::max(6, screen.width - 56);
  for (const std::string_view signer : signers()) {
    out += fmt::format("\n  {:<23}name {:_<{}}\n", signer, "", name);
    out += fmt::format("\n  {:<23}signature {:_<{}}  date {:_<12}\n", "", "", signature, "");
  }
  return out;
}

std::string cautions_section(const Screen& screen, const Acceptance& sheet) {
  if (sheet.cautions.empty()) return {};
  std::string out = sheet_heading(screen, "Cautions");
  for (const std::string& caution : sheet.cautions) out += paragraph(screen, bounded(caution), 2);
  return out;
}

}  // namespace

std::string acceptance_text(const Screen& screen, const Acceptance& sheet) {
  Screen page = screen;
  page.width = std::min(screen.width, sheet_width);
  page.break_words = true;
  return identity_text(page, sheet) + findings_section(page, sheet) + site_section(page, sheet) +
         checks_section(page, sheet) + stages_section(page, sheet) + settings_section(page, sheet) +
         position_section(page, sheet) + keys_section(page, sheet) + signatures_section(page) +
         cautions_section(page, sheet);
}

}  // namespace vergeset::report
