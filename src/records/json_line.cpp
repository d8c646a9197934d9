#include "records/json_line.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "smi/inert.h"

namespace vergeset::records {

void add_quoted(std::string& out, std::string_view text) {
  const bool plain = std::all_of(text.begin(), text.end(),
                                 [](char c) { return c >= ' ' && c <= '~' && c != '"' && c != '\\'; });
  if (!plain) {
    out +=
        smi::inert_json(nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace));
    return;
  }
  out += '"';
  out += text;
  out += '"';
}

void JsonLine::name(std::string_view name) {
  text_ += text_.empty() ? '{' : ',';
  add_quoted(text_, name);
  text_ += ':';
}

JsonLine& JsonLine::text(std::string_view key, std::string_view value) {
  name(key);
  add_quoted(text_, value);
  return *this;
}

JsonLine& JsonLine::number(std::string_view key, std::int64_t value) {
  name(key);
  text_ += std::to_string(value);
  return *this;
}

JsonLine& JsonLine::flag(std::string_view key, bool value) {
  name(key);
  text_ += value ? "true" : "false";
  return *this;
}

JsonLine& JsonLine::json(std::string_view key, std::string_view value) {
  name(key);
  text_ += value;
  return *this;
}

}  // namespace vergeset::records
