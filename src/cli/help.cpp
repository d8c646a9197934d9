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
  for (const Command& command : commands) out += fmt::format("  {:<11}{}\n", command.name, command.about);
  return out +
         "Exit status: 0 done, 1 internal error, 2 usage or files, 3 drift, 4 no answer,\n"
         "5 attention, 6 interrupted. Example: vergeset COMMAND --help tells more.\n";
}

}  // namespace vergeset::cli
