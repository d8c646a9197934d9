#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

namespace vergeset {

/// One character of UTF-8 (RFC 3629): its code, and the octets that it takes. An octet that begins none is
/// invalid, and stands for itself.
struct Character {
  std::uint32_t code = 0;
  std::size_t octets = 1;
  bool valid = false;
};
Character character_at(std::string_view text, std::size_t at);

/// How many octets of a text, from its start, are characters of UTF-8 (RFC 3629) that a file may
/// hold: all of them, or those in front of the first octet that is no UTF-8 or a control character
/// other than tab, LF and CR.
std::size_t readable(std::string_view text);

bool is_control(char c);

/// How many characters a text has, as editors count columns.
std::size_t characters(std::string_view text);

}  // namespace vergeset
