#pragma once

#include <string>
#include <string_view>

namespace vergeset::report {

/// Pages of the manual, in the macros of man(7). What is printed of them does nothing but be printed:
/// backslashes, and dots that begin a line, are text.

/// Text as it is: dashes stay dashes that can be copied into a shell.
std::string roff_text(std::string_view text);
/// Bold, and slanted (what stands for something else, as UNIT).
std::string roff_bold(std::string_view text);
std::string roff_slanted(std::string_view text);
/// "\n.TP" with what stands on the left and what on the right; both are roff.
std::string roff_item(const std::string& left, const std::string& right);
/// A text of many lines that keeps them; `first` where it stands right behind a heading.
std::string roff_literal(std::string_view lines, bool first);

/// Markdown as README.md is written: headings (`##` a section, `###` a part of one), paragraphs, lists with
/// `- `, tables of which the first column names the row, blocks that stand in by four blanks, **bold**,
/// *slanted* and `code`. `first` where it stands right behind a heading.
std::string roff_of_markdown(std::string_view markdown, bool first);

}  // namespace vergeset::report
