#include "smi/utf8.h"

#include <algorithm>
#include <cstdint>

namespace vergeset {

namespace {

bool continues(char c) {
  return (static_cast<unsigned char>(c) & 0xc0) == 0x80;
}

/// The octets of the character that a text begins with; 0 where it is none.
std::size_t first_character(std::string_view text) {
  const auto first = static_cast<unsigned char>(text[0]);
  if (first < 0x80) return 1;
  const std::size_t size = first < 0xc2 ? 0 : first < 0xe0 ? 2 : first < 0xf0 ? 3 : first < 0xf5 ? 4 : 0;
  if (size == 0 || text.size() < size) return 0;
  std::uint32_t code = first & (0x7fU >> size);
  for (const char c : text.substr(1, size - 1)) {
    if (!continues(c)) return 0;
    code = code << 6 | (static_cast<unsigned char>(c) & 0x3fU);
  }
  const std::uint32_t least = size == 2 ? 0x80 : size == 3 ? 0x800 : 0x10000;
  const bool surrogate = code >= 0xd800 && code <= 0xdfff;
  return code < least || code > 0x10ffff || surrogate ? 0 : size;
}

}  // namespace

bool is_control(char c) {
  const auto octet = static_cast<unsigned char>(c);
  return (octet < 0x20 && c != '\t' && c != '\n' && c != '\r') || octet == 0x7f;
}

std::size_t readable(std::string_view text) {
  std::size_t at = 0;
  while (at < text.size() && !is_control(text[at])) {
    const std::size_t octets = first_character(text.substr(at));
    if (octets == 0) break;
    at += octets;
  }
  return at;
}

std::size_t characters(std::string_view text) {
  return text.size() - static_cast<std::size_t>(std::count_if(text.begin(), text.end(), continues));
}

}  // namespace vergeset
