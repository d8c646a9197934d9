#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace vergeset::smi {

/// What a unit sends, and what stands in a file that another may have written, is text to be read and must
/// not be able to do anything: move a terminal's cursor, hide what stands beside it, turn the direction of
/// writing, end a line of a log. All text on its way to a person or a record goes through one of these.

/// Controls (C0, DEL and C1), what is not seen or turns the direction of writing (U+061C, U+200B..200F,
/// U+2028..202E, U+2060..206F, U+FEFF, tags U+E0000..E007F), and what is no character.
bool rewrites(std::uint32_t code);

/// On one line: what rewrites, and octets that are no UTF-8, as \x0a. Other letters stay as they are.
std::string inert(std::string_view text);

/// The same of a text of many lines: its line ends stay.
std::string inert_lines(std::string_view text);

/// Of a JSON text: what rewrites as \u202e, which reads back as the same text.
std::string inert_json(std::string json);

/// The same of a YAML scalar in double quotes, where a character beyond U+FFFF is \U000e0041 and no pair.
std::string inert_yaml(std::string scalar);

}  // namespace vergeset::smi
