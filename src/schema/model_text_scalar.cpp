#include "schema/model_text_scalar.h"

#include <algorithm>
#include <set>
#include <string_view>

#include "smi/inert.h"
#include "smi/words.h"

namespace vergeset::schema {

namespace {

bool is_bare(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
         std::string_view(" .()|_-").find(c) != std::string_view::npos;
}

bool begins_bare(char c) {
  return is_bare(c) && std::string_view(" .()|-").find(c) == std::string_view::npos;
}

}  // namespace

std::string yaml_scalar(const std::string& text) {
  static const std::set<std::string> meaning{"true", "false", "yes", "no", "on", "off", "null", "y", "n"};
  const bool bare = !text.empty() && begins_bare(text.front()) && text.back() != ' ' &&
                    std::ranges::all_of(text, is_bare) && meaning.count(smi::lower(text)) == 0;
  if (bare) return text;
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') quoted += '\\';
    quoted += c;
  }
  return smi::inert_yaml(quoted + "\"");
}

}  // namespace vergeset::schema
