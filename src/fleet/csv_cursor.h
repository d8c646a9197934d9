#pragma once

#include <string>
#include <string_view>

#include "schema/place.h"

namespace vergeset::fleet {

/// The text with the place of its next character.
class CsvCursor {
 public:
  CsvCursor(std::string_view text, const std::string& file) : text_(text), place_{file, 1, 1} {}

  bool end() const { return at_ >= text_.size(); }
  char peek() const { return text_[at_]; }
  bool follows(std::string_view word) const { return text_.substr(at_, word.size()) == word; }
  const Place& place() const { return place_; }
  bool at_line_end() const { return end() || peek() == '\n' || peek() == '\r'; }

  char take() {
    const char c = text_[at_++];
    const bool lone_return = c == '\r' && !(at_ < text_.size() && text_[at_] == '\n');
    if (c == '\n' || lone_return) {
      ++place_.line;
      place_.column = 1;
    } else if (c != '\r' && (static_cast<unsigned char>(c) & 0xc0) != 0x80) {
      ++place_.column;  // not the later octets of a UTF-8 character
    }
    return c;
  }

  void skip_line() {
    while (!at_line_end()) take();
    if (!end()) skip_line_end();
  }

  /// LF, CRLF or CR.
  void skip_line_end() {
    if (take() == '\r' && !end() && peek() == '\n') take();
  }

  void skip_octets(std::size_t count) { at_ += count; }

 private:
  std::string_view text_;
  std::size_t at_ = 0;
  Place place_;
};

}  // namespace vergeset::fleet
