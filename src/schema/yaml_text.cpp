#include "schema/yaml_text.h"

#include <algorithm>
#include <string_view>

#include "smi/utf8.h"

namespace vergeset::schema {

namespace {

/// The column, from 1, of the octet `to` on a line that begins at `from`.
int column_of(std::string_view text, std::size_t from, std::size_t to) {
  return static_cast<int>(characters(text.substr(from, to - from))) + 1;
}

}  // namespace

Place YamlText::place(const YAML::Mark& mark) const {
  if (mark.is_null()) return {file, 0, 0};
  const auto to = std::min(static_cast<std::size_t>(mark.pos), octets.size());
  const auto from = to - std::min(static_cast<std::size_t>(mark.column), to);
  return {file, mark.line + 1, column_of(octets, from, to)};
}

Place YamlText::place(std::size_t octet) const {
  const std::string_view before = std::string_view(octets).substr(0, octet);
  const auto lines = std::count(before.begin(), before.end(), '\n');
  return {file, static_cast<int>(lines) + 1, column_of(octets, before.rfind('\n') + 1, before.size())};
}

}  // namespace vergeset::schema
