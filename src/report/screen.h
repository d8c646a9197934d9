#pragma once

#include <string>
#include <string_view>

namespace vergeset::report {

/// Where text goes to: how wide it is, and whether it can show bold and dim.
struct Screen {
  int width = 100;
  bool styled = false;       ///< bold and dim; never meaning by them alone
  bool break_words = false;  ///< a word that is wider than its column is broken; otherwise it sticks out
  bool full = false;         ///< long octet strings whole
};

std::string bold(const Screen& screen, std::string_view text);
std::string dim(const Screen& screen, std::string_view text);

/// The columns of a terminal that UTF-8 text takes: its characters, without combining ones
/// (Unicode block 0300..036F).
int text_width(std::string_view text);

/// Where the character that begins at `at` ends.
std::size_t character_end(std::string_view text, std::size_t at);

/// Text made safe for a terminal (smi/inert.h).
std::string printable(std::string_view text);

}  // namespace vergeset::report
