#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <map>
#include <sstream>
#include <string>

#include "schema/text_file.h"
#include "schema/yaml.h"
#include "smi/utf8.h"

namespace vergeset::schema {

namespace {

/// What yaml-cpp says, and what a person should read.
struct Wording {
  std::string_view theirs;
  std::string_view ours;
};

constexpr std::array<Wording, 20> wordings{{
    {"bad file", "maps or lists stand inside each other more than 500 deep"},
    {"illegal tab when looking for indentation", "a tab stands in the indentation; write blanks"},
    {"illegal map value",
     "a colon with a blank behind it is not expected here; check the indentation, or put the text in quotes"},
    {"illegal map key", "a name is not expected here; check the indentation"},
    {"illegal block entry", "a list entry is not expected here; begin it on a line of its own"},
    {"illegal flow end", "a closing bracket or brace stands here without an opening one"},
    {"illegal flow entry", "a comma is not expected here; put the text in quotes"},
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

/// The most values that a document may come to when each alias stands for all that it names.
constexpr std::uint64_t most_values = 2'000'000;

/// How many values a piece comes to, counted no further than one too many; 0 where it holds an alias
/// to itself.
std::uint64_t values_of(const YamlValue& value, std::map<const YamlValue*, std::uint64_t>& known) {
  if (!value.is_map() && !value.is_list()) return 1;
  const auto [at, fresh] = known.try_emplace(&value, 0);
  if (!fresh) return at->second;
  std::uint64_t sum = 1;
  for (const YamlValue* part : value.parts) {
    const std::uint64_t values = values_of(*part, known);
    if (values == 0) return 0;
    sum = std::min(sum + values, most_values + 1);
  }
  at->second = sum;
  return sum;
}

/// A document that a few lines of aliases blow up beyond all use, or that never ends, is a fault.
bool aliases_are_sound(const YamlValue& root, const YamlText& text, Faults& faults) {
  if (text.octets.find('*') == std::string::npos || text.octets.find('&') == std::string::npos) return true;
  std::map<const YamlValue*, std::uint64_t> known;
  const std::uint64_t values = values_of(root, known);
  if (values == 0) {
    faults.add({text.file, 0, 0}, "an alias (*) stands inside the very value that it names");
  } else if (values > most_values) {
    faults.add({text.file, 0, 0},
               fmt::format("comes to more than {} values when each alias (*) stands for what it names; write "
                           "fewer aliases",
                           most_values));
  }
  return values != 0 && values <= most_values;
}

/// The place behind the last line that is not empty.
Place end_of(const YamlText& text) {
  return text.place(text.octets.find_last_not_of(" \t\r\n") + 1);
}

void report(const YAML::Exception& problem, const YamlText& text, Faults& faults) {
  Place place = text.place(problem.mark);
  std::string words = plain(problem.msg);
  if (!problem.mark.is_null()) {
    place = std::min(place, end_of(text));
    const std::size_t tab = tab_before(text.octets, problem.mark.line, problem.mark.column);
    if (tab != std::string::npos) {
      place.column = static_cast<int>(tab) + 1;
      words = "a tab stands in the indentation; write blanks";
    }
  }
  faults.add(place, "is no YAML: " + words);
}

/// What yaml-cpp would take for the end of the file (octet 4) or pass on as it is.
bool all_readable(const YamlText& text, Faults& faults) {
  const std::size_t octets = readable(text.octets);
  if (octets == text.octets.size()) return true;
  const bool control = is_control(text.octets[octets]);
  faults.add(text.place(octets),
             control ? "is no YAML: a control character stands here; is this file UTF-8 text?"
                     : "is no YAML: what stands here is no UTF-8; save the file as UTF-8 text");
  return false;
}

/// The document of a text, `empty` where it has none; nothing where a fault says why it cannot be used.
const YamlValue* parse(const YamlText& text, YamlTree& tree, const YamlValue& empty, Faults& faults) {
  if (!all_readable(text, faults)) return nullptr;
  try {
    // The mark of the document's end makes yaml-cpp see a quoted text that is never closed.
    tree.parse(text.octets + "\n...\n");
  } catch (const YAML::Exception& problem) {
    report(problem, text, faults);
    return nullptr;
  }
  const auto& documents = tree.documents();
  if (documents.empty()) return &empty;
  if (documents.size() > 1) {
    faults.add(text.place(documents[1]->mark),
               "is no YAML of one piece: what stands here does not belong to the map or list above; check "
               "the indentation, and keep one document a file");
  }
  return aliases_are_sound(*documents[0], text, faults) ? documents[0] : nullptr;
}

}  // namespace

YamlFile::YamlFile(const std::string& path, std::string shown, Faults& faults)
    : text_{std::move(shown), {}}, faults_(&faults) {
  auto octets = read_text_file(path);
  if (!octets) {
    faults.add({text_.file, 0, 0}, octets.problem());
    broken_ = true;
    return;
  }
  constexpr std::string_view byte_order_mark = "\xef\xbb\xbf";
  text_.octets = octets->substr(octets->rfind(byte_order_mark, 0) == 0 ? byte_order_mark.size() : 0);
  const YamlValue* const document = parse(text_, tree_, empty_, faults);
  broken_ = document == nullptr;
  if (!broken_) root_ = document;
}

}  // namespace vergeset::schema
