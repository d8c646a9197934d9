#pragma once

#include <cstddef>
#include <string_view>

namespace vergeset {

/// How many octets of a text, from its start, are characters of UTF-8 (RFC 3629) that a file may
/// hold: all of them, or those in front of the first octet that is no UTF-8 or a control character
/// other than tab, LF and CR.
std::size_t readable(std::string_view text);

bool is_control(char c);

/// How many characters a text has, as editors count columns.
std::size_t characters(std::string_view text);

}  // namespace vergeset
