#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>
#include <string>

#include "schema/yaml.h"

namespace vergeset::schema {

namespace {

constexpr std::uintmax_t most_octets = 64U * 1024 * 1024;

/// What yaml-cpp says, and what a person should read.
struct Wording {
  std::string_view theirs;
  std::string_view ours;
};

constexpr std::array<Wording, 19> wordings{{
    {"bad file", "maps or lists stand inside each other more than 500 deep"},
    {"illegal tab when looking for indentation", "a tab stands in the indentation; write blanks"},
    {"illegal map value",
     "a colon with a blank behind it is not expected here; check the indentation, or put the text in quotes"},
    {"illegal map key", "a name is not expected here; check the indentation"},
    {"illegal block entry", "a list entry is not expected here; begin it on a line of its own"},
    {"illegal flow end", "a closing bracket or brace stands here without an opening one"},
    {"end of map not found", "the map cannot go on like this; check the indentation and the quotes"},
    {"end of map flow not found", "a brace { is not closed by }"},
    {"end of sequence not found", "the list cannot go on like this; check the indentation and the dashes"},
    {"end of sequence flow not found", "a bracket [ is not closed by ]"},
    {"unknown token", "this character may not begin a text; put the text in quotes"},
    {"illegal document indicator in scalar", "a quoted text that began further up is not closed"},
    {"illegal EOF in scalar", "a quoted text that began further up is not closed"},
    {"the referenced anchor is not defined", "an alias (*) names an anchor (&) that does not stand above it"},
    {"invalid alias", "a name is expected behind *"},
    {"invalid anchor", "a name is expected behind &"},
    {"cannot assign multiple anchors to the same node", "two anchors (&) stand in front of one value"},
    {"cannot assign multiple tags to the same node", "two tags (!) stand in front of one value"},
    {"found a tab character where an indentation space is expected", "a tab stands in the indentation"},
}};

std::string plain(const std::string& theirs) {
  for (const Wording& wording : wordings) {
    if (theirs == wording.theirs) return std::string(wording.ours);
  }
  return theirs;
}

/// The place of the first character that no YAML text may hold, or nothing. yaml-cpp takes octet 4
/// for the end of the file and would drop what follows without a word.
std::optional<Place> control_character(const std::string& text, const std::string& file) {
  int line = 1;
  int column = 1;
  for (const char c : text) {
    const auto octet = static_cast<unsigned char>(c);
    if (octet == 0x7f || (octet < 0x20 && c != '\t' && c != '\n' && c != '\r'))
      return Place{file, line, column};
    column = c == '\n' ? 1 : column + 1;
    if (c == '\n') ++line;
  }
  return std::nullopt;
}

/// The column of a tab that stands in front of `column` (both from 0) on a line, or npos: tabs are
/// what a person cannot see when yaml-cpp complains of the text behind them.
std::size_t tab_before(const std::string& text, int line, int column) {
  std::istringstream lines(text);
  std::string content;
  for (int at = 0; at <= line; ++at) {
    if (!std::getline(lines, content)) return std::string::npos;
  }
  const std::size_t blank = content.find_first_not_of(" \t-");
  const std::size_t tab = content.find('\t');
  if (tab == std::string::npos || (blank != std::string::npos && tab > blank)) return std::string::npos;
  return tab <= static_cast<std::size_t>(std::max(column, 0)) ? tab : std::string::npos;
}

using Spot = std::pair<int, YAML::NodeType::value>;

/// Finds a map or list that holds an alias to itself. Nodes have no identity to ask for, but no two
/// containers of one kind begin at one character.
bool holds_itself(const YAML::Node& node, std::set<Spot>& above, std::set<Spot>& done) {
  if (!node.IsMap() && !node.IsSequence()) return false;
  const Spot spot{node.Mark().pos, node.Type()};
  if (above.count(spot) != 0) return true;
  if (!done.insert(spot).second) return false;
  above.insert(spot);
  for (const auto& part : node) {
    const bool loop = node.IsMap()
                          ? holds_itself(part.first, above, done) || holds_itself(part.second, above, done)
                          : holds_itself(part, above, done);
    if (loop) return true;
  }
  above.erase(spot);
  return false;
}

std::optional<std::string> contents(const std::string& path, const std::string& shown, Faults& faults) {
  std::error_code error;
  const auto status = std::filesystem::status(path, error);
  if (!std::filesystem::exists(status)) {
    faults.add({shown, 0, 0}, "is missing");
    return std::nullopt;
  }
  if (!std::filesystem::is_regular_file(status)) {
    faults.add({shown, 0, 0}, "is no file");
    return std::nullopt;
  }
  if (std::filesystem::file_size(path, error) > most_octets) {
    faults.add({shown, 0, 0}, "is larger than 64 MiB; split it");
    return std::nullopt;
  }
  std::ifstream stream(path, std::ios::binary);
  std::ostringstream text;
  if (stream.peek() != std::ifstream::traits_type::eof()) text << stream.rdbuf();
  if (!stream.is_open() || stream.bad() || text.fail()) {
    faults.add({shown, 0, 0}, "cannot be read; check who may read it");
    return std::nullopt;
  }
  return text.str();
}

/// The place behind the last line that is not empty.
Place end_of(const std::string& text, const std::string& file) {
  const std::size_t last = text.find_last_not_of(" \t\r\n");
  if (last == std::string::npos) return {file, 1, 1};
  const auto lines = std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(last), '\n');
  const std::size_t line_end = text.find_last_of('\n', last);
  const std::size_t begin = line_end == std::string::npos ? 0 : line_end + 1;
  return {file, static_cast<int>(lines) + 1, static_cast<int>(last - begin) + 2};
}

void report(const YAML::Exception& problem, const std::string& text, const std::string& file,
            Faults& faults) {
  Place place{file, 0, 0};
  std::string words = plain(problem.msg);
  if (!problem.mark.is_null()) {
    place = {file, problem.mark.line + 1, problem.mark.column + 1};
    place = std::min(place, end_of(text, file));
    const std::size_t tab = tab_before(text, problem.mark.line, problem.mark.column);
    if (tab != std::string::npos) {
      place.column = static_cast<int>(tab) + 1;
      words = "a tab stands in the indentation; write blanks";
    }
  }
  faults.add(place, "is no YAML: " + words);
}

YAML::Node parse(const std::string& text, const std::string& file, Faults& faults) {
  if (const auto place = control_character(text, file)) {
    faults.add(*place, "is no YAML: a control character stands here; is this file UTF-8 text?");
    return {};
  }
  try {
    // The mark of the document's end makes yaml-cpp see a quoted text that is never closed.
    const std::vector<YAML::Node> documents = YAML::LoadAll(text + "\n...\n");
    if (documents.empty()) return {};
    if (documents.size() > 1) {
      const YAML::Mark mark = documents[1].Mark();
      faults.add({file, mark.line + 1, mark.column + 1},
                 "is no YAML of one piece: what stands here does not belong to the map or list above; check "
                 "the indentation, and keep one document a file");
    }
    std::set<Spot> above;
    std::set<Spot> done;
    const bool aliases = text.find('*') != std::string::npos && text.find('&') != std::string::npos;
    if (aliases && holds_itself(documents[0], above, done)) {
      faults.add({file, 0, 0}, "an alias (*) stands inside the very value that it names");
      return {};
    }
    return documents[0];
  } catch (const YAML::Exception& problem) {
    report(problem, text, file, faults);
    return {};
  }
}

}  // namespace

YamlFile::YamlFile(const std::string& path, std::string shown, Faults& faults)
    : shown_(std::move(shown)), faults_(&faults) {
  if (const auto text = contents(path, shown_, faults)) root_.reset(parse(*text, shown_, faults));
}

}  // namespace vergeset::schema
