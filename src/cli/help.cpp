#include "cli/help.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace vergeset::cli {

namespace {

std::string shown(const Option& option) {
  return option.value.empty() ? option.name : option.name + " " + option.value;
}

/// The lines of a section: what stands on the left, and its help.
std::vector<std::pair<std::string, std::string>> lines_of(const Section& section) {
  std::vector<std::pair<std::string, std::string>> lines;
  std::string waiting;
  for (const Option& option : section.options) {
    waiting += (waiting.empty() ? "" : ", ") + shown(option);
    if (!option.help.empty()) lines.emplace_back(std::exchange(waiting, {}), option.help);
  }
  return lines;
}

/// Two commands on one line of the list, so that it stays on a screen.
struct Together {
  std::string first;
  std::string second;
  std::string about;
};

const Together* line_of(const std::string& command) {
  static const std::vector<Together> lines{
      {"new", "import", "A first fleet to edit; units.csv out of a spreadsheet."},
      {"draft", "model", "Files that describe units as they are; a model out of MIBs."},
      {"units", "where", "The chosen units; which file and line asks for each value."},
      {"audit", "gather", "Which units have drifted; the audits of parts as one."},
      {"log", "changes", "Who did what to which unit when, from the records."}};
  for (const Together& line : lines) {
    if (line.first == command || line.second == command) return &line;
  }
  return nullptr;
}

std::string usage(const Command& command) {
  std::string words;
  for (const Section& section : command.sections) {
    for (const Option& option : section.options) {
      if (option.dashed()) continue;
      const bool many = std::holds_alternative<std::vector<std::string>*>(option.target);
      const std::string word = option.name + (many ? "..." : "");
      words += option.required ? " " + word : " [" + word + "]";
    }
  }
  return fmt::format("Usage: vergeset {} [options]{}\n", command.name, words);
}

}  // namespace

std::string help_of(const Command& command) {
  std::size_t width = 0;
  for (const Section& section : command.sections) {
    for (const auto& [left, help] : lines_of(section)) width = std::max(width, left.size());
  }
  std::string out = command.about + "\n" + usage(command);
  for (const Section& section : command.sections) {
    if (!section.heading.empty()) out += section.heading + ":\n";
    for (const auto& [left, help] : lines_of(section))
      out += fmt::format("  {:<{}}  {}\n", left, width, help);
  }
  return out + "Example: " + command.example + "\n";
}

std::string help_of(const std::vector<Command>& commands) {
  std::string out = "Usage: vergeset COMMAND [options]   keeps roadside units as their files say\n";
  for (const Command& command : commands) {
    const Together* line = line_of(command.name);
    const bool told_before = line != nullptr && line->first != command.name;
    if (told_before) continue;
    const std::string left = line == nullptr ? command.name : line->first + ", " + line->second;
    out += fmt::format("  {:<14}{}\n", left, line == nullptr ? command.about : line->about);
  }
  return out +
         "Exit status: 0 done, 1 internal error, 2 usage or files, 3 drift, 4 no answer,\n"
         "5 attention, 6 interrupted. Example: vergeset COMMAND --help tells more.\n";
}

}  // namespace vergeset::cli
