#include "cli/parse.h"

#include <CLI/CLI.hpp>
#include <cstdio>

#include "cli/exit_status.h"
#include "cli/help.h"
#include "smi/suggest.h"
#include "smi/words.h"

namespace vergeset::cli {

namespace {

int wrong(const std::string& text, const std::string& help) {
  std::fprintf(stderr, "vergeset: %s\nSee: %s\n", text.c_str(), help.c_str());
  return Exit::bad_input;
}

const Command* named(const std::vector<Command>& commands, const std::string& name) {
  for (const Command& command : commands) {
    if (command.name == name) return &command;
  }
  return nullptr;
}

/// For CLI11: empty where the text is a count, otherwise what is wrong with it.
std::string count_fault(const std::string& text) {
  const auto number = smi::unsigned_number(text);
  if (number && *number > 0 && *number <= 1000000) return {};
  return "expected a number from 1 to 1000000, found " + smi::shown(text);
}

void add(CLI::App& app, const Option& option) {
  const auto with_value = [&](auto* target) {
    CLI::Option* added = app.add_option(option.name, *target, option.help);
    added->required(option.required);
    if constexpr (std::is_same_v<decltype(target), std::size_t*>) added->check(count_fault);
    if constexpr (std::is_same_v<decltype(target), std::vector<std::string>*>) {
      if (option.dashed()) added->expected(1)->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
    }
  };
  if (auto* const* flag = std::get_if<bool*>(&option.target)) {
    app.add_flag(option.name, **flag, option.help);
  } else if (auto* const* text = std::get_if<std::string*>(&option.target)) {
    with_value(*text);
  } else if (auto* const* number = std::get_if<std::size_t*>(&option.target)) {
    with_value(*number);
  } else {
    with_value(std::get<std::vector<std::string>*>(option.target));
  }
}

std::vector<std::string> dashed_names(const Command& command) {
  std::vector<std::string> names{"--help"};
  for (const Section& section : command.sections) {
    for (const Option& option : section.options) {
      if (option.dashed()) names.push_back(option.name);
    }
  }
  return names;
}

/// A slip in an option, told with the option that was probably meant.
std::string slip(const Command& command, const CLI::App& app, const CLI::ParseError& error) {
  for (const std::string& word : app.remaining()) {
    const std::string name = word.substr(0, word.find('='));
    if (name.rfind('-', 0) != 0) return "unexpected word " + word;
    return "unknown option " + name + smi::suggestion(name, dashed_names(command));
  }
  return error.what();
}

/// The one command's own words, by CLI11.
Parsed parse(const Command& command, const std::vector<std::string>& words) {
  CLI::App app;
  app.set_help_flag("-h,--help");
  app.allow_extras();
  for (const Section& section : command.sections) {
    for (const Option& option : section.options) add(app, option);
  }
  const std::string help = "vergeset " + command.name + " --help";
  try {
    app.parse(std::vector<std::string>(words.rbegin(), words.rend()));
    if (app.remaining_size() > 0) return {nullptr, wrong(slip(command, app, CLI::ParseError("", 0)), help)};
  } catch (const CLI::CallForHelp&) {
    std::fputs(help_of(command).c_str(), stdout);
    return {nullptr, Exit::done};
  } catch (const CLI::ParseError& error) {
    return {nullptr, wrong(slip(command, app, error), help)};
  }
  return {&command, Exit::done};
}

}  // namespace

Parsed parse(const std::vector<Command>& commands, int count, const char* const* words) {
  const std::vector<std::string> all(words + std::min(count, 1), words + count);
  if (all.empty()) {
    std::fputs(help_of(commands).c_str(), stderr);
    return {nullptr, Exit::bad_input};
  }
  const std::string& first = all.front();
  if (first == "--help" || first == "-h" || first == "help") {
    const Command* about = all.size() > 1 ? named(commands, all[1]) : nullptr;
    std::fputs((about != nullptr ? help_of(*about) : help_of(commands)).c_str(), stdout);
    return {nullptr, Exit::done};
  }
  if (first == "--version") {
    std::printf("vergeset %s\n", VERGESET_VERSION);
    return {nullptr, Exit::done};
  }
  if (const Command* command = named(commands, first)) {
    return parse(*command, {all.begin() + 1, all.end()});
  }
  std::vector<std::string> names;
  for (const Command& command : commands) names.push_back(command.name);
  const std::string what = first.front() == '-' ? "expected a command first, found " : "no command ";
  return {nullptr, wrong(what + first + smi::suggestion(first, names), "vergeset --help")};
}

}  // namespace vergeset::cli
