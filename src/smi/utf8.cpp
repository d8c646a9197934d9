#include "smi/utf8.h"

#include <algorithm>

namespace vergeset {

namespace {

bool continues(char c) {
  return (static_cast<unsigned char>(c) & 0xc0) == 0x80;
}

}  // namespace

Character character_at(std::string_view text, std::size_t at) {
  const auto octet = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned first = octet(at);
  const std::size_t size = first < 0x80   ? 1
                           : first < 0xc2 ? 0
                           : first < 0xe0 ? 2
                           : first < 0xf0 ? 3
                           : first < 0xf5 ? 4
                                          : 0;
  if (size == 0 || at + size > text.size()) return {first, 1, false};
  if (size == 1) return {first, 1, true};
  std::uint32_t code = first & (0x7fU >> size);
  for (std::size_t i = 1; i < size; ++i) {
    if ((octet(at + i) & 0xc0U) != 0x80U) return {first, 1, false};
    code = code << 6 | (octet(at + i) & 0x3fU);
  }
  const std::uint32_t least = size == 3 ? 0x800U : size == 4 ? 0x10000U : 0x80U;
  const bool valid = code >= least && code <= 0x10ffffU && (code < 0xd800U || code > 0xdfffU);
  return valid ? Character{code, size, true} : Character{first, 1, false};
}

bool is_control(char c) {
  const auto octet = static_cast<unsigned char>(c);
  return (octet < 0x20 && c != '\t' && c != '\n' && c != '\r') || octet == 0x7f;
}

std::size_t readable(std::string_view text) {
  std::size_t at = 0;
  while (at < text.size() && !is_control(text[at])) {
    const Character one = character_at(text, at);
    if (!one.valid) break;
    at += one.octets;
  }
  return at;
}

std::size_t characters(std::string_view text) {
  return text.size() - static_cast<std::size_t>(std::count_if(text.begin(), text.end(), continues));
}

}  // namespace vergeset
