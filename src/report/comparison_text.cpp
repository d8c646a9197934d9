#include "report/comparison_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "report/findings_text.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using change::Difference;
using change::Item;
using change::Remark;

std::string found_text(const Screen& screen, const Item& item) {
  return item.found_words.empty() ? value_text(screen, item.syntax, item.unit, item.as_found)
                                  : item.found_words;
}

void add_items(const Screen& screen, const Difference& difference, Table& table) {
  for (const Item& item : difference.items) {
    const bool is_new = difference.kind == Difference::Kind::make_row;
    table.add_within({item.setting, is_new ? std::string() : found_text(screen, item),
                      value_text(screen, item.syntax, item.unit, item.desired)});
  }
}

/// The columns that go with their row.
void add_gone(const Screen& screen, const Difference& difference, Table& table) {
  for (const Item& item : difference.whole_row) {
    if (!item.as_found.absent()) table.add_within({item.setting, found_text(screen, item), ""});
  }
}

void add(const Screen& screen, const Difference& difference, Table& table) {
  switch (difference.kind) {
    case Difference::Kind::value: {
      const Item& item = difference.items.front();
      table.add({difference.title(), found_text(screen, item),
                 value_text(screen, item.syntax, item.unit, item.desired)});
      return;
    }
    case Difference::Kind::make_row:
      table.add({difference.title(), "no such row", "new row"});
      return add_items(screen, difference, table);
    case Difference::Kind::change_row:
      table.add({difference.title(), "", ""});
      return add_items(screen, difference, table);
    case Difference::Kind::remove_row:
      table.add({difference.title(), "there", "no such row"});
      return add_gone(screen, difference, table);
  }
}

}  // namespace

std::string address_text(const fleet::Unit& unit) {
  const bool v6 = unit.host.find(':') != std::string::npos && unit.host.front() != '[';
  return v6 ? fmt::format("[{}]:{}", unit.host, unit.port) : fmt::format("{}:{}", unit.host, unit.port);
}

std::string unit_line(const Screen& screen, const fleet::Unit& unit, const std::string& says) {
  return unit_line(screen, unit, address_text(unit), says);
}

std::string unit_line(const Screen& screen, const fleet::Unit& unit, const std::string& from,
                      const std::string& says) {
  const std::string rest =
      printable(fmt::format("   {}   {}", unit.model != nullptr ? unit.model->title : "no model", from));
  const std::string end = printable(says);
  std::string line = bold(screen, printable(unit.name)) + rest;
  if (end.empty()) return line + "\n";
  const bool fits = text_width(unit.name + rest) + 3 + text_width(end) <= screen.width;
  return fits ? line + "   " + end + "\n" : line + "\n" + paragraph(screen, end, 2);
}

std::string differences_text(const Screen& screen, const std::vector<Difference>& differences) {
  if (differences.empty()) return {};
  Table table(2, {"setting", "as found", "desired"});
  for (const Difference& difference : differences) add(screen, difference, table);
  return table.text(screen);
}

std::vector<std::pair<std::string, std::vector<std::string>>> beside(
    const change::Comparison& comparison, const std::vector<checks::Finding>& health) {
  std::vector<std::string> others;
  std::vector<std::string> missing;
  for (const Remark& remark : comparison.remarks) {
    if (remark.kind == Remark::Kind::other_row) others.push_back(remark.name + ": " + remark.text);
    if (remark.kind == Remark::Kind::not_offered) missing.push_back(remark.name + ": " + remark.text);
  }
  std::vector<std::string> findings;
  for (const checks::Finding& finding : health) {
    findings.push_back(finding_line(finding));
  }
  return {{"cannot be brought into line", comparison.obstacles},
          {"rows that nobody asked for", others},
          {"not there", missing},
          {"health", findings}};
}

std::string beside_text(const Screen& screen, const change::Comparison& comparison,
                        const std::vector<checks::Finding>& health) {
  std::string out;
  for (const auto& [heading, lines] : beside(comparison, health)) {
    if (!lines.empty()) out += "  " + dim(screen, heading) + "\n";
    for (const std::string& line : lines) out += paragraph(screen, line, 4);
  }
  return out;
}

std::string count_text(const change::Comparison& comparison) {
  const std::size_t count = comparison.differences.size() + comparison.obstacles.size();
  return count == 0 ? "agrees" : counted(count, "difference");
}

}  // namespace vergeset::report
