#include "records/yaml_text.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <string_view>

#include <fmt/format.h>

#include "records/journal.h"
#include "smi/words.h"
namespace vergeset::records {

Result<YAML::Node> parse_record(const std::string& text) {
  try {
    YAML::Node node = YAML::Load(text);
    if (!node.IsMap()) return Problem{"expected a map, found something else"};
    return node;
  } catch (const YAML::Exception& error) {
    return Problem{fmt::format("line {}: {}", error.mark.line + 1, error.msg)};
  }
}

std::string text_at(const YAML::Node& map, const char* key) {
  const YAML::Node found = map.IsMap() ? map[key] : YAML::Node(YAML::NodeType::Undefined);
  return found.IsDefined() && found.IsScalar() ? found.Scalar() : std::string();
}

std::string scalar(const std::string& text) {
  const auto plain = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '.' ||
           c == '-' || c == '_' || c == ' ';
  };
  constexpr std::array<std::string_view, 9> words = {"y",   "n",    "yes",   "no",  "on",
                                                     "off", "true", "false", "null"};
  const bool letter_first =
      !text.empty() && std::isalpha(static_cast<unsigned char>(text.front())) != 0 && text.back() != ' ';
  const bool word = std::find(words.begin(), words.end(), smi::lower(text)) != words.end();
  if (letter_first && !word && std::all_of(text.begin(), text.end(), plain)) return text;
  return Json(text).dump(-1, ' ', false, Json::error_handler_t::replace);  // JSON is YAML
}

}  // namespace vergeset::records
