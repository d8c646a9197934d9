#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace vergeset::records {

/// A JSON object as text, member by member, for the lines of journals: a change of a thousand units writes
/// ten thousand of them, and a document built first takes several times as long.
class JsonLine {
 public:
  JsonLine& text(std::string_view name, std::string_view value);
  JsonLine& number(std::string_view name, std::int64_t value);
  JsonLine& flag(std::string_view name, bool value);
  /// A value that is JSON already.
  JsonLine& json(std::string_view name, std::string_view value);

  /// The whole object.
  std::string str() const { return text_.empty() ? "{}" : text_ + "}"; }

 private:
  void name(std::string_view name);
  std::string text_;
};

/// A text in quotes, with what JSON has to have escaped (RFC 8259 section 7); octets that are no UTF-8 are
/// replaced.
void add_quoted(std::string& out, std::string_view text);

}  // namespace vergeset::records
