#include "fleet/written.h"

namespace vergeset::fleet {

namespace {

std::optional<std::string> joined(const schema::Entry& list) {
  std::string text;
  for (const schema::Entry& member : list.members("a list of words")) {
    if (!member.is_text()) {
      member.fault("expected a word of a list, found something else; write [word, word]");
      return std::nullopt;
    }
    if (!text.empty()) text += ", ";
    text += member.text("a word");
  }
  return text;
}

/// {unit}, which YAML reads as a map of one key without a value.
std::optional<std::string> unquoted_braces(const schema::Entry& map) {
  const auto pairs = map.pairs("a value");
  if (pairs.size() != 1 || !pairs[0].first.is_text() || !pairs[0].second.is_nothing()) return std::nullopt;
  return "{" + pairs[0].first.text("a name") + "}";
}

std::optional<Written> read(const schema::Entry& key, const schema::Entry& value, bool file_allowed) {
  Written written{key.text("a name"), key.place(), {}, value.place(), false};
  if (value.is_text()) {
    written.text = value.text("a value");
    return written;
  }
  if (value.is_list()) {
    const auto text = joined(value);
    if (!text) return std::nullopt;
    written.text = *text;
    return written;
  }
  if (value.is_map()) {
    if (const auto braces = unquoted_braces(value)) {
      written.text = *braces;
      return written;
    }
    const schema::Entry path = value.at("file");
    if (file_allowed && path.is_text()) {
      value.only({"file"});
      written.text = path.text("the path of a file");
      written.place = path.place();
      written.from_file = true;
      return written;
    }
  }
  const std::string wanted = file_allowed ? "a value or {file: PATH}" : "a value";
  const std::string found = value.is_map() ? "a map" : "nothing";
  const schema::Entry& where = value.is_nothing() ? key : value;
  where.fault("expected " + wanted + " for " + written.name + ", found " + found +
              (value.is_nothing() ? "; write \"\" for an empty one" : ""));
  return std::nullopt;
}

}  // namespace

std::optional<Written> read_written(const schema::Entry& key, const schema::Entry& value) {
  return read(key, value, true);
}

std::optional<Written> read_plain(const schema::Entry& key, const schema::Entry& value) {
  return read(key, value, false);
}

}  // namespace vergeset::fleet
