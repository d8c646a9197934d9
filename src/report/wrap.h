#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/screen.h"

namespace vergeset::report {

/// How wide text is by its words, for a column that has to become narrower: each width breaks more of them
/// than the one above it.
struct WordWidths {
  int longest = 0;  ///< of all words
  int firm = 0;     ///< of those that are no long run of letters and digits
  int parts = 0;    ///< of those, addresses, paths and places whole, others broken behind their marks
  int places = 0;   ///< of addresses, paths and places in files
};
WordWidths word_widths(std::string_view text);

/// Words filled into lines of at most `width`, each behind the blanks that the text begins with. A word
/// that is too wide is broken, behind a mark where it has one, or sticks out.
std::vector<std::string> wrapped(std::string_view text, int width, bool break_words);

/// A paragraph, each line behind `indent` blanks.
std::string paragraph(const Screen& screen, std::string_view text, int indent = 0);

}  // namespace vergeset::report
