#include "fleet/utf8.h"

#include <algorithm>
#include <cstdint>

namespace vergeset::fleet {

namespace {

/// The octets behind the first one, and the least code point that needs so many; -1: no first octet.
int followers(unsigned char first, std::uint32_t& bits, std::uint32_t& least) {
  if (first < 0x80) {
    bits = first;
    least = 0;
    return 0;
  }
  if ((first & 0xe0) == 0xc0) {
    bits = first & 0x1fU;
    least = 0x80;
    return 1;
  }
  if ((first & 0xf0) == 0xe0) {
    bits = first & 0x0fU;
    least = 0x800;
    return 2;
  }
  if ((first & 0xf8) == 0xf0) {
    bits = first & 0x07U;
    least = 0x10000;
    return 3;
  }
  return -1;
}

}  // namespace

bool valid_utf8(std::string_view octets) {
  for (std::size_t at = 0; at < octets.size();) {
    std::uint32_t code = 0;
    std::uint32_t least = 0;
    const int more = followers(static_cast<unsigned char>(octets[at++]), code, least);
    if (more < 0) return false;
    for (int i = 0; i < more; ++i) {
      if (at >= octets.size()) return false;
      const auto next = static_cast<unsigned char>(octets[at++]);
      if ((next & 0xc0) != 0x80) return false;
      code = code << 6 | (next & 0x3fU);
    }
    if (code < least || code > 0x10ffff || (code >= 0xd800 && code <= 0xdfff)) return false;
  }
  return true;
}

bool has_control_character(std::string_view text) {
  return std::any_of(text.begin(), text.end(), [](char c) {
    const auto octet = static_cast<unsigned char>(c);
    return (octet < 0x20 && c != '\t' && c != '\n' && c != '\r') || octet == 0x7f;
  });
}

}  // namespace vergeset::fleet
