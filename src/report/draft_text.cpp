#include "report/draft_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "report/table.h"
#include "report/words.h"
#include "smi/inert.h"

namespace vergeset::report {

namespace {

/// What still differs of a unit, in one line.
std::string left_text(const change::Comparison& left) {
  if (!left.obstacles.empty()) return left.obstacles.front();
  if (left.differences.empty()) return "";
  const change::Difference& first = left.differences.front();
  std::string text = first.title();
  if (!first.items.empty()) {
    const change::Item& item = first.items.front();
    text += fmt::format(" {}: found {}, files would ask for {}", first.is_row() ? item.setting : "",
                        item.as_found_text(), item.desired_text());
  }
  if (left.differences.size() > 1) text += fmt::format(", and {} more", left.differences.size() - 1);
  return text;
}

std::string left_out_units(const Screen& screen, const DraftShown& shown) {
  Table table(2);
  for (const change::Audited& unit : shown.read) {
    if (unit.verdict == change::Verdict::agrees) continue;
    table.add({unit.unit->name, fmt::format("{}: {}", verdict_name(unit.verdict), unit.what)});
  }
  for (const auto& one : shown.tree.not_described)
    table.add({one.unit, "cannot be described as it is: " + left_text(one.left)});
  if (table.empty()) return {};
  return "left out, their entries as before\n" + table.text(screen, true) + "\n";
}

std::string in_no_file(const Screen& screen, const DraftShown& shown) {
  const change::Draft& draft = shown.tree.draft;
  std::string out;
  if (!draft.left_out.empty()) {
    constexpr std::size_t told = 20;
    Table table(2);
    for (std::size_t i = 0; i < std::min(told, draft.left_out.size()); ++i) {
      const change::NotDrafted& one = draft.left_out[i];
      table.add({one.unit, one.what, one.why});
    }
    out += "found, and no file can ask for it\n" + table.text(screen, true);
    if (draft.left_out.size() > told)
      out += fmt::format("  and {} more (--json has all)\n", draft.left_out.size() - told);
    out += "\n";
  }
  const change::NoSettings& no = draft.no_settings;
  const std::string unknown =
      no.unknown > 0 ? fmt::format(", {} unknown to the model", counted(no.unknown, "instance")) : "";
  return out + paragraph(screen,
                         fmt::format("no settings, and so in no file: {} read-only objects, {}, {} that the "
                                     "units' programs write{}",
                                     no.read_only, counted(no.actions, "action"), no.running, unknown));
}

std::size_t count_below(const std::vector<std::string>& files, const std::string& folder) {
  return static_cast<std::size_t>(std::count_if(
      files.begin(), files.end(), [&](const std::string& file) { return file.rfind(folder, 0) == 0; }));
}

std::string what_was_written(const Screen& screen, const DraftShown& shown) {
  const change::DraftedTree& tree = shown.tree;
  const change::Draft& draft = tree.draft;
  Table table(2);
  table.add({"found", fmt::format("{}, in {}", counted(draft.values, "value"),
                                  counted(draft.rows, "row") + " and the scalars")});
  table.add({"groups", fmt::format("{} in {}", counted(draft.in_groups, "value"),
                                   counted(count_below(tree.files, "groups/"), "file"))});
  table.add({"units", fmt::format("{} in units.yaml", counted(draft.in_units, "value"))});
  table.add({"payloads", counted(count_below(tree.files, "payloads/"), "file")});
  table.add({"lines", fmt::format("{} for {}; one a value would be {}", tree.lines,
                                  counted(tree.described.size(), "unit"), draft.values)});
  return table.text(screen, false);
}

/// As a shell takes it for one word.
std::string shell_word(const std::string& text) {
  const bool plain =
      text.find_first_not_of("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_./") ==
      std::string::npos;
  if (plain && text.front() != '-') return text;
  std::string quoted = text.front() == '-' ? "'./" : "'";
  for (const char c : text) quoted += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return quoted + "'";
}

std::string in_place(const DraftShown& shown) {
  std::string out = fmt::format("look through it, then put it in place:\n  cp -R {} {}\n",
                                shell_word(shown.out + "/."), shell_word(shown.fleet + "/"));
  for (const std::string& file : shown.tree.gone)
    out += fmt::format("  rm {}\n", shell_word(shown.fleet + "/" + file));
  if (!shown.tree.staying.empty()) {
    std::string files;
    for (const std::string& file : shown.tree.staying) files += (files.empty() ? "" : ", ") + file;
    out += fmt::format("not copied, since keys and certificates stay where they are: {}\n", files);
  }
  return smi::inert_lines(out);
}

}  // namespace

std::string draft_text(const Screen& screen, const DraftShown& shown) {
  const std::size_t described = shown.tree.described.size();
  std::string out = left_out_units(screen, shown);
  if (described == 0) return out + "no unit can be described; nothing was written\n";
  out += fmt::format("{} of {} written to {}\n", described, counted(shown.read.size(), "unit"),
                     smi::inert(shown.out));
  out += what_was_written(screen, shown) + "\n" + in_no_file(screen, shown);
  out += fmt::format("\ncompared with what was found: {}\n\n",
                     described == 1 ? "it agrees" : fmt::format("all {} agree", described));
  return out + in_place(shown);
}

Json draft_json(const DraftShown& shown) {
  const change::DraftedTree& tree = shown.tree;
  Json document = report::document("draft");
  document["out"] = shown.out;
  document["group"] = shown.group;
  document["written"] = !tree.described.empty();
  document["units"] = Json::array();
  for (const change::Audited& unit : shown.read) {
    Json one = {{"unit", unit.unit->name}};
    const auto left = std::find_if(tree.not_described.begin(), tree.not_described.end(),
                                   [&](const auto& other) { return other.unit == unit.unit->name; });
    if (unit.verdict != change::Verdict::agrees) {
      one["result"] = std::string(verdict_name(unit.verdict));
      one["what"] = unit.what;
    } else if (left != tree.not_described.end()) {
      one["result"] = "cannot be described";
      one["what"] = left_text(left->left);
      one["differences"] = differences_json(left->left.differences);
    } else {
      one["result"] = "described";
    }
    document["units"].push_back(std::move(one));
  }
  document["found"] = {{"values", tree.draft.values}, {"rows", tree.draft.rows}};
  document["in-groups"] = tree.draft.in_groups;
  document["in-units"] = tree.draft.in_units;
  document["lines"] = tree.lines;
  document["files"] = tree.files;
  document["remove"] = tree.gone;
  document["not-copied"] = tree.staying;
  document["left-out"] = Json::array();
  for (const change::NotDrafted& one : tree.draft.left_out)
    document["left-out"].push_back({{"unit", one.unit}, {"name", one.what}, {"why", one.why}});
  const change::NoSettings& no = tree.draft.no_settings;
  document["no-settings"] = {
      {"read-only", no.read_only}, {"actions", no.actions}, {"running", no.running}, {"unknown", no.unknown}};
  return document;
}

}  // namespace vergeset::report
