#include "cli/complete.h"

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <optional>
#include <set>
#include <string_view>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/print.h"
#include "fleet/fleet.h"
#include "fleet/site.h"
#include "records/change_record.h"
#include "records/disk.h"

namespace vergeset::cli {

namespace {

struct Candidate {
  std::string word;
  std::string about;
};
using Candidates = std::vector<Candidate>;

/// A command line as far as it is typed.
struct Line {
  const Command* command = nullptr;
  const Option* wanted = nullptr;  ///< whose value, or which word without dashes, the last word is
  std::set<std::string> given;     ///< options that stand there
  std::string fleet = ".";
  std::string records;
  std::string start;  ///< what stands before the value in the last word: "--fleet="
  std::string typed;  ///< the last word, without that
};

const Option* named_option(const Command& command, std::string_view name) {
  for (const Section& section : command.sections) {
    for (const Option& option : section.options) {
      if (option.name == name) return &option;
    }
  }
  return nullptr;
}

/// The word without dashes that is the so many-th; the last one stands for all behind it.
const Option* plain_option(const Command& command, std::size_t place) {
  const Option* last = nullptr;
  for (const Section& section : command.sections) {
    for (const Option& option : section.options) {
      if (option.dashed()) continue;
      last = &option;
      if (place-- == 0) return last;
    }
  }
  const bool many = last != nullptr && std::holds_alternative<std::vector<std::string>*>(last->target);
  return many ? last : nullptr;
}

/// "~/fleet", which a shell would have made a path of before running the line.
std::string at_home(const std::string& path) {
  const char* const home = std::getenv("HOME");
  return home != nullptr && path.starts_with("~/") ? home + path.substr(1) : path;
}

void note_place(Line& line, const std::string& option, const std::string& value) {
  if (option == "--fleet") line.fleet = at_home(value);
  if (option == "--records") line.records = at_home(value);
}

/// What the last word stands for. Words before it are taken as the program would.
Line read_line(const Command& command, const std::vector<std::string>& words) {
  Line line;
  line.command = &command;
  std::size_t plain = 0;
  const Option* waits = nullptr;
  bool dashes = true;
  for (std::size_t i = 1; i + 1 < words.size(); ++i) {
    const std::string& word = words[i];
    if (waits != nullptr) {
      note_place(line, waits->name, word);
      waits = nullptr;
    } else if (dashes && word == "--") {
      dashes = false;
    } else if (dashes && word.starts_with("-")) {
      const auto equals = word.find('=');
      const std::string name = word.substr(0, equals);
      line.given.insert(name);
      if (equals != std::string::npos) note_place(line, name, word.substr(equals + 1));
      const Option* option = named_option(command, name);
      if (equals == std::string::npos && option != nullptr && !option->value.empty()) waits = option;
    } else {
      ++plain;
    }
  }
  line.typed = words.back();
  const auto equals = line.typed.find('=');
  if (waits != nullptr) {
    line.wanted = waits;
  } else if (dashes && line.typed.starts_with("--") && equals != std::string::npos) {
    line.wanted = named_option(command, line.typed.substr(0, equals));
    line.start = line.typed.substr(0, equals + 1);
    line.typed.erase(0, equals + 1);
  } else if (!dashes || !line.typed.starts_with("-")) {
    line.wanted = plain_option(command, plain);
  }
  return line;
}

Candidates of_commands(const std::vector<Command>& commands) {
  Candidates all;
  for (const Command& command : commands) all.push_back({command.name, command.about});
  all.push_back({"help", "What a command does."});
  all.push_back({"--help", "All commands."});
  all.push_back({"--version", "The versions of this program and its libraries."});
  return all;
}

Candidates of_options(const Line& line) {
  Candidates all;
  for (const Section& section : line.command->sections) {
    for (const Option& option : section.options) {
      const bool again = std::holds_alternative<std::vector<std::string>*>(option.target);
      if (!option.dashed() || (!again && line.given.contains(option.name))) continue;
      all.push_back({option.name, option.help});
    }
  }
  all.push_back({"--help", "the same on one screen"});
  return all;
}

/// The fleet as far as its files can be read.
fleet::Fleet fleet_of(const Line& line) {
  Faults told_to_nobody;
  return fleet::load_fleet(line.fleet, schemas_folder(), told_to_nobody);
}

/// The models and common names of this installation and of the fleet's own folder.
schema::Schema schema_of(const Line& line) {
  const std::string own = line.fleet + "/models";
  Faults told_to_nobody;
  return schema::load_schema(schemas_folder(), std::filesystem::is_directory(own) ? own : "", told_to_nobody);
}

/// The units; or, where a pattern is typed, that pattern with how many units it fits.
Candidates of_units(const Line& line) {
  const fleet::Fleet fleet = fleet_of(line);
  Candidates all;
  if (line.typed.find_first_of("*?") != std::string::npos) {
    fleet::Choice choice;
    choice.names = {line.typed};
    const auto fitting = fleet::choose(fleet, choice);
    if (!fitting || fitting->empty()) return all;
    const std::size_t count = fitting->size();
    return {{line.typed, std::to_string(count) + (count == 1 ? " unit" : " units")}};
  }
  for (const fleet::Unit& unit : fleet.units) {
    all.push_back({unit.name, fleet::recorded(unit.site, "place")});
  }
  return all;
}

Candidates of_groups(const fleet::Fleet& fleet) {
  Candidates all;
  for (const auto& [group, place] : fleet.groups) all.push_back({group, place.file});
  return all;
}

Candidates of_credentials(const fleet::Fleet& fleet) {
  Candidates all;
  for (const auto& [name, credential] : fleet.credentials) all.push_back({name, credential.user});
  return all;
}

Candidates of_models(const schema::Schema& schema) {
  Candidates all;
  for (const auto& [name, model] : schema.models) all.push_back({name, model->title});
  return all;
}

/// Names that `where` traces: the common ones.
Candidates of_settings(const schema::Schema& schema) {
  Candidates all;
  for (const auto& [name, setting] : schema.settings) all.push_back({name, setting.about});
  for (const auto& [name, table] : schema.tables) all.push_back({name, table.about});
  return all;
}

/// Newest first, since that is the one that is rolled back or looked at.
Candidates of_changes(const Line& line) {
  const records::FolderDisk disk(line.records.empty() ? line.fleet + "/records" : line.records);
  constexpr std::size_t most = 100;
  Candidates all;
  auto numbers = records::change_numbers(disk);
  std::reverse(numbers.begin(), numbers.end());
  for (const int number : numbers) {
    if (all.size() == most) break;
    const auto change = records::find_change(disk, number);
    const std::string about = change ? change->kind + " " + change->begun + " " + change->why : "";
    all.push_back({records::change_name(number), about});
  }
  return all;
}

/// By the word that the help has in the place: UNIT, DIR, FILE.
std::optional<Candidates> of_place(const Line& line) {
  const Option& option = *line.wanted;
  const std::string& word = option.dashed() ? option.value : option.name;
  if (word == "UNIT") return of_units(line);
  if (word == "G") return of_groups(fleet_of(line));
  if (word == "CREDENTIAL") return of_credentials(fleet_of(line));
  if (word == "M") return of_models(schema_of(line));
  if (word == "CHANGE" || word == "NUMBER") return of_changes(line);
  if (word == "NAME" && !option.dashed()) return of_settings(schema_of(line));
  if (word == "DIR") return Candidates{{":folders", {}}};
  if (word == "FILE" || word == "PATH" || word == "PAYLOAD" || (word == "ORDER" && !option.dashed()))
    return Candidates{{":files", {}}};
  // "show", "from-mib": a word that stands for itself.
  if (!option.dashed() && std::islower(static_cast<unsigned char>(word.front())) != 0)
    return Candidates{{word, option.help}};
  return std::nullopt;
}

bool plain_to_shells(std::string_view word) {
  constexpr std::string_view marks = "-_.+/@%,=*?";
  return !word.empty() && std::ranges::all_of(word, [&](unsigned char c) {
    return std::isalnum(c) != 0 || c >= 0x80 || marks.find(static_cast<char>(c)) != std::string_view::npos;
  });
}

void say_candidates(const Candidates& all, const Line& line) {
  std::string out;
  for (const Candidate& one : all) {
    const bool asks_shell = one.word.starts_with(':');
    if (!asks_shell && (!one.word.starts_with(line.typed) || !plain_to_shells(one.word))) continue;
    std::string about = one.about;
    std::ranges::replace_if(
        about, [](unsigned char c) { return c < ' '; }, ' ');
    out += (asks_shell ? "" : line.start) + one.word + (one.about.empty() ? "" : " " + one.about) + "\n";
  }
  print(out);
}

void complete_line(const std::vector<Command>& commands, const std::vector<std::string>& words) {
  const auto command =
      std::ranges::find_if(commands, [&](const Command& one) { return one.name == words.front(); });
  if (words.size() == 1 || (words.size() == 2 && words.front() == "help")) {
    Line line;
    line.typed = words.back();
    return say_candidates(of_commands(commands), line);
  }
  if (command == commands.end()) return;
  const Line line = read_line(*command, words);
  if (line.wanted != nullptr) {
    if (const auto candidates = of_place(line)) say_candidates(*candidates, line);
  } else if (line.start.empty()) {
    say_candidates(of_options(line), line);
  }
}

}  // namespace

int complete(const std::vector<Command>& commands, std::vector<std::string> words) {
  if (words.empty()) words.emplace_back();
  try {
    complete_line(commands, words);
  } catch (const std::exception&) {  // a person is typing: a word in between would be in the way
    return Exit::done;
  }
  return Exit::done;
}

}  // namespace vergeset::cli
