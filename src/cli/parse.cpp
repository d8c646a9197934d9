#include "cli/parse.h"

#include <CLI/CLI.hpp>

#include "cli/complete.h"
#include "cli/exit_status.h"
#include "cli/help.h"
#include "cli/pages.h"
#include "cli/print.h"
#include "cli/version.h"
#include "smi/suggest.h"
#include "smi/words.h"

namespace vergeset::cli {

namespace {

int wrong(const std::string& text, const std::string& help) {
  return complain(text + "\nSee: " + help);
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

const Option* option_named(const Command& command, const std::string& name) {
  for (const Section& section : command.sections) {
    for (const Option& option : section.options) {
      if (option.dashed() && option.name == name) return &option;
    }
  }
  return nullptr;
}

/// "--yes=maybe": empty, or what is wrong with it.
std::string value_for_none(const Command& command, const std::vector<std::string>& words) {
  for (const std::string& word : words) {
    if (word == "--") break;
    const auto equals = word.find('=');
    if (equals == std::string::npos) continue;
    const Option* option = option_named(command, word.substr(0, equals));
    if (option != nullptr && option->value.empty()) return option->name + " takes no value";
  }
  return {};
}

/// CLI11 begins with the option that has a fault: "--why: 1 required TEXT missing".
std::string fault_text(const Command& command, const CLI::ParseError& error) {
  const std::string text = error.what();
  const Option* option = option_named(command, text.substr(0, text.find(':')));
  const bool missing = dynamic_cast<const CLI::ArgumentMismatch*>(&error) != nullptr;
  return option != nullptr && missing ? option->name + " needs " + option->value : text;
}

/// A slip in an option, told with the option that was probably meant.
std::string slip(const Command& command, const CLI::App& app, const CLI::ParseError& error) {
  for (const std::string& word : app.remaining()) {
    const std::string name = word.substr(0, word.find('='));
    if (name.rfind('-', 0) != 0) return "unexpected word " + word;
    return "unknown option " + name + smi::suggestion(name, dashed_names(command));
  }
  return fault_text(command, error);
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
  const std::string unwanted = value_for_none(command, words);
  if (!unwanted.empty()) return {nullptr, wrong(unwanted, help)};
  try {
    app.parse(std::vector<std::string>(words.rbegin(), words.rend()));
    if (app.remaining_size() > 0) return {nullptr, wrong(slip(command, app, CLI::ParseError("", 0)), help)};
  } catch (const CLI::CallForHelp&) {
    print(help_of(command));
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
    print_aside(help_of(commands));
    return {nullptr, Exit::bad_input};
  }
  const std::string& first = all.front();
  if (first == "--help" || first == "-h" || first == "help") {
    const Command* about = all.size() > 1 ? named(commands, all[1]) : nullptr;
    print(about != nullptr ? help_of(*about) : help_of(commands));
    return {nullptr, Exit::done};
  }
  if (first == "--version") {
    print(version_text());
    return {nullptr, Exit::done};
  }
  const std::vector<std::string> rest(all.begin() + 1, all.end());
  if (first == "complete") return {nullptr, complete(commands, rest)};
  if (first == "manual-pages" && rest.size() == 4)
    return {nullptr, write_pages(commands, {rest[0], rest[1], rest[2], rest[3]})};
  if (const Command* command = named(commands, first)) {
    return parse(*command, rest);
  }
  std::vector<std::string> names;
  for (const Command& command : commands) names.push_back(command.name);
  const std::string what = first.front() == '-' ? "expected a command first, found " : "no command ";
  return {nullptr, wrong(what + first + smi::suggestion(first, names), "vergeset --help")};
}

}  // namespace vergeset::cli
