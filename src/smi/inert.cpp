#include "smi/inert.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "smi/utf8.h"

namespace vergeset::smi {

namespace {

bool plain(char c) {
  return c >= ' ' && c <= '~';
}

bool is_plain(std::string_view text) {
  return std::all_of(text.begin(), text.end(), plain);
}

template <class Stays>
std::string inert_but(std::string_view text, Stays stays) {
  std::string out;
  out.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    const Character one = character_at(text, at);
    const std::string_view octets = text.substr(at, one.octets);
    if (one.valid && (!rewrites(one.code) || stays(one.code))) {
      out += octets;
    } else {
      for (const char c : octets) out += fmt::format("\\x{:02x}", static_cast<unsigned char>(c));
    }
    at += one.octets;
  }
  return out;
}

/// `beyond` writes what stands for a character beyond U+FFFF.
template <class Beyond>
std::string spelt(std::string text, Beyond beyond) {
  if (std::all_of(text.begin(), text.end(), [](char c) { return plain(c) || c == '\n'; })) return text;
  std::string out;
  out.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    const Character one = character_at(text, at);
    // Outside of strings there is no more of these than white space.
    const bool white = one.code == '\n' || one.code == '\t' || one.code == '\r';
    if (!one.valid) {
      out += "\\ufffd";
    } else if (!rewrites(one.code) || white) {
      out.append(text, at, one.octets);
    } else if (one.code < 0x10000) {
      out += fmt::format("\\u{:04x}", one.code);
    } else {
      beyond(out, one.code);
    }
    at += one.octets;
  }
  return out;
}

}  // namespace

bool rewrites(std::uint32_t code) {
  return code < 0x20 || (code >= 0x7f && code < 0xa0) || code == 0x61c ||
         (code >= 0x200b && code <= 0x200f) || (code >= 0x2028 && code <= 0x202e) ||
         (code >= 0x2060 && code <= 0x206f) || code == 0xfeff || (code >= 0xfff9 && code <= 0xfffb) ||
         (code >= 0xe0000 && code <= 0xe007f);
}

std::string inert(std::string_view text) {
  if (is_plain(text)) return std::string(text);
  return inert_but(text, [](std::uint32_t) { return false; });
}

std::string inert_lines(std::string_view text) {
  return inert_but(text, [](std::uint32_t code) { return code == '\n'; });
}

std::string inert_json(std::string json) {
  return spelt(std::move(json), [](std::string& out, std::uint32_t code) {
    const std::uint32_t rest = code - 0x10000;  // a surrogate pair (RFC 8259 section 7)
    out += fmt::format("\\u{:04x}\\u{:04x}", 0xd800 + (rest >> 10), 0xdc00 + (rest & 0x3ffU));
  });
}

std::string inert_yaml(std::string scalar) {
  return spelt(std::move(scalar), [](std::string& out, std::uint32_t code) {
    out += fmt::format("\\U{:08x}", code);  // YAML 1.2, 5.7
  });
}

}  // namespace vergeset::smi
