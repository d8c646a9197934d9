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
  std::string out =
      "Keeps a fleet of roadside units set the way its files say, over SNMP.\n"
      "Usage: vergeset COMMAND [options]\n";
  for (const Command& command : commands) out += fmt::format("  {:<10}{}\n", command.name, command.about);
  return out +
         "\nvergeset COMMAND --help tells more of one; vergeset --version tells the version.\n"
         "Exit status: 0 done or all agree, 1 internal error, 2 bad usage or files,\n"
         "3 drift, 4 no answer from some, 5 some need attention, 6 interrupted.\n"
         "Example: vergeset check --fleet inventories/larkmoor\n";
}

}  // namespace vergeset::cli
