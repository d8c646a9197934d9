#include "change/draft_inventory.h"

#include <fmt/format.h>

#include <algorithm>

#include "records/yaml_text.h"
#include "schema/text_file.h"
#include "schema/yaml.h"

namespace vergeset::change {

namespace {

using Lines = std::vector<std::string>;

/// With their line ends.
Lines lines_of(const std::string& text) {
  Lines lines;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find('\n', from), text.size() - 1);
    lines.push_back(text.substr(from, end - from + 1));
    from = end + 1;
  }
  return lines;
}

bool blank_or_comment(const std::string& line) {
  const std::size_t at = line.find_first_not_of(" \t\r\n");
  return at == std::string::npos || line[at] == '#';
}

std::string scalars(const std::vector<std::vector<fleet::Written>>& levels,
                    const std::vector<std::string>& more) {
  std::vector<std::string> all;
  for (const auto& level : levels) {
    std::vector<std::string> equals;
    for (const fleet::Written& group : level) equals.push_back(records::scalar(group.text));
    all.push_back(equals.size() == 1 ? equals.front() : fmt::format("[{}]", fmt::join(equals, ", ")));
  }
  for (const std::string& group : more) all.push_back(records::scalar(group));
  return fmt::format("[{}]", fmt::join(all, ", "));
}

std::string entry_text(const fleet::UnitEntry& entry, const NewEntry& drafted, std::size_t indent) {
  const std::string blanks(indent, ' ');
  std::string out = fmt::format("{}{}:\n", blanks, records::scalar(entry.name));
  const auto add = [&](const char* name, const std::optional<fleet::Written>& written) {
    if (written) out += fmt::format("{}  {}: {}\n", blanks, name, drafted_scalar(written->text));
  };
  add("address", entry.address);
  add("port", entry.port);
  add("model", entry.model);
  const std::string groups = scalars(entry.groups, drafted.more_groups);
  if (groups != "[]") out += fmt::format("{}  groups: {}\n", blanks, groups);
  add("credential", entry.credential);
  add("engine-id", entry.engine_id);
  add("fingerprint", entry.fingerprint);
  const auto map = [&](const char* name, const std::vector<fleet::Written>& all) {
    if (!all.empty()) out += fmt::format("{}  {}:\n", blanks, name);
    for (const fleet::Written& one : all)
      out += fmt::format("{}    {}: {}\n", blanks, records::scalar(one.name), drafted_scalar(one.text));
  };
  map("site", entry.site);
  map("values", entry.layer.values);
  return out + to_yaml(drafted.layer, static_cast<int>(indent) + 2, &entry.layer);
}

/// The lines of units.yaml, with entries replaced.
class YamlLines {
 public:
  explicit YamlLines(const Inventory& inventory) : lines_(lines_of(inventory.yaml)) {
    if (!lines_.empty() && lines_.back().back() != '\n') lines_.back() += '\n';
    for (const fleet::UnitEntry& entry : inventory.in_yaml) entries_.push_back(&entry);
    std::sort(entries_.begin(), entries_.end(), [](const fleet::UnitEntry* a, const fleet::UnitEntry* b) {
      return a->place.line < b->place.line;
    });
  }

  /// Why they cannot be replaced line by line; empty where they can.
  std::string trouble() const {
    for (std::size_t i = 0; i < entries_.size(); ++i) {
      const Place& place = entries_[i]->place;
      const auto line = static_cast<std::size_t>(place.line);
      const bool fits = line >= 1 && line <= lines_.size() && indent(i) > 0 && indent(i) == indent(0) &&
                        lines_[line - 1].find_first_not_of(' ') == indent(i) &&
                        (i == 0 || entries_[i - 1]->place.line < place.line);
      if (!fits)
        return fmt::format(
            "{}: {} does not stand on lines of its own, so it cannot be changed while the others "
            "stay; write each unit below `units:`, all as far in",
            place.str(), entries_[i]->name);
    }
    return {};
  }

  std::size_t indent() const { return entries_.empty() ? 2 : indent(0); }

  std::string with(const std::map<std::string, NewEntry>& entries) const {
    std::string out;
    std::size_t line = 0;
    for (std::size_t i = 0; i < entries_.size(); ++i) {
      const std::size_t first = static_cast<std::size_t>(entries_[i]->place.line) - 1;
      const std::size_t end = end_of(i, first);
      for (; line < first; ++line) out += lines_[line];
      const auto drafted = entries.find(entries_[i]->name);
      if (drafted == entries.end()) continue;
      out += entry_text(*entries_[i], drafted->second, indent());
      line = end;
    }
    for (; line < lines_.size(); ++line) out += lines_[line];
    return out;
  }

 private:
  std::size_t indent(std::size_t i) const { return static_cast<std::size_t>(entries_[i]->place.column) - 1; }

  /// Comments in front of the next entry are that entry's.
  std::size_t end_of(std::size_t i, std::size_t first) const {
    std::size_t end =
        i + 1 < entries_.size() ? static_cast<std::size_t>(entries_[i + 1]->place.line) - 1 : lines_.size();
    while (end > first + 1 && blank_or_comment(lines_[end - 1])) --end;
    return end;
  }

  Lines lines_;
  std::vector<const fleet::UnitEntry*> entries_;
};

/// Where the record that begins on a line ends: quoted cells may hold line ends (RFC 4180).
std::size_t record_end(const Lines& lines, std::size_t line) {
  bool quoted = false;
  for (; line < lines.size(); ++line) {
    quoted = quoted != (std::count(lines[line].begin(), lines[line].end(), '"') % 2 != 0);
    if (!quoted) return line + 1;
  }
  return line;
}

std::string csv_without(const Inventory& inventory, const std::map<std::string, NewEntry>& entries) {
  Lines lines = lines_of(inventory.csv);
  std::size_t left = 0;
  for (const fleet::UnitEntry& entry : inventory.in_csv) {
    if (!entries.contains(entry.name)) {
      ++left;
      continue;
    }
    const auto first = static_cast<std::size_t>(entry.place.line) - 1;
    const std::size_t end = record_end(lines, first);
    for (std::size_t line = first; line < end; ++line) lines[line].clear();
  }
  return left == 0 ? "" : fmt::format("{}", fmt::join(lines, ""));
}

}  // namespace

Inventory read_inventory(const std::string& folder) {
  Inventory inventory;
  Faults faults;
  if (auto yaml = read_text_file(folder + "/units.yaml")) {
    inventory.yaml = *std::move(yaml);
    const schema::YamlFile file(folder + "/units.yaml", "units.yaml", faults);
    fleet::read_units_yaml(file.root(),
                           [&](const fleet::UnitEntry& entry) { inventory.in_yaml.push_back(entry); });
  }
  if (auto csv = read_text_file(folder + "/units.csv")) {
    inventory.csv = *std::move(csv);
    fleet::read_units_csv(inventory.csv, "units.csv", faults,
                          [&](const fleet::UnitEntry& entry) { inventory.in_csv.push_back(entry); });
  }
  return inventory;
}

Result<NewInventory> with_entries(const Inventory& inventory,
                                  const std::map<std::string, NewEntry>& entries) {
  const YamlLines yaml(inventory);
  const bool changes =
      std::any_of(inventory.in_yaml.begin(), inventory.in_yaml.end(),
                  [&](const fleet::UnitEntry& entry) { return entries.contains(entry.name); });
  const bool adds = std::any_of(inventory.in_csv.begin(), inventory.in_csv.end(),
                                [&](const fleet::UnitEntry& entry) { return entries.contains(entry.name); });
  const std::string trouble = yaml.trouble();
  if ((changes || adds) && !trouble.empty()) return Problem{trouble};
  NewInventory out{yaml.with(entries), csv_without(inventory, entries)};
  if (adds && inventory.in_yaml.empty())
    out.yaml = "# Units as they were found; see groups/ for what they share.\n\nunits:\n";
  for (const fleet::UnitEntry& entry : inventory.in_csv) {
    const auto drafted = entries.find(entry.name);
    if (drafted != entries.end()) out.yaml += entry_text(entry, drafted->second, yaml.indent());
  }
  return out;
}

}  // namespace vergeset::change
