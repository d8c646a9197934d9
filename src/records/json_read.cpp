#include "records/json_read.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

namespace vergeset::records {

namespace {

constexpr int deepest = 100;  // an audit nests 6 deep

/// How deep lists and objects stand inside each other, up to one too many.
int depth_of(std::string_view text) {
  int depth = 0;
  int most = 0;
  bool quoted = false;
  for (std::size_t i = 0; i < text.size() && most <= deepest; ++i) {
    if (text[i] == '"') quoted = !quoted;
    if (quoted) {
      if (text[i] == '\\') ++i;
    } else if (text[i] == '[' || text[i] == '{') {
      most = std::max(most, ++depth);
    } else if (text[i] == ']' || text[i] == '}') {
      --depth;
    }
  }
  return most;
}

}  // namespace

Result<Json> parse_json(std::string_view text) {
  if (depth_of(text) > deepest)
    return Problem{fmt::format("lists and objects stand inside each other more than {} deep", deepest)};
  try {
    return Json::parse(text);
  } catch (const Json::parse_error& error) {
    // What the library says shows the octets of the text as they are.
    const std::string_view before = text.substr(0, error.byte);
    return Problem{fmt::format("line {}: is no JSON", std::count(before.begin(), before.end(), '\n') + 1)};
  }
}

std::string text_in(const Json& object, const char* name) {
  if (!object.is_object()) return {};
  const auto found = object.find(name);
  return found != object.end() && found->is_string() ? found->get<std::string>() : std::string();
}

std::optional<std::int64_t> number_in(const Json& object, const char* name) {
  if (!object.is_object()) return std::nullopt;
  const auto found = object.find(name);
  if (found == object.end() || !found->is_number_integer()) return std::nullopt;
  const bool too_large =
      found->is_number_unsigned() &&
      found->get<std::uint64_t>() > static_cast<std::uint64_t>(std::numeric_limits<std::int64_t>::max());
  return too_large ? std::nullopt : std::optional(found->get<std::int64_t>());
}

}  // namespace vergeset::records
