#include "records/yaml_text.h"

#include <fmt/format.h>

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

}  // namespace vergeset::records
