#include "report/screen.h"

#include <fmt/format.h>

#include "smi/inert.h"
#include "smi/utf8.h"

namespace vergeset::report {

namespace {

constexpr const char* end_style = "\033[0m";

}  // namespace

std::string bold(const Screen& screen, std::string_view text) {
  return screen.styled ? fmt::format("\033[1m{}{}", text, end_style) : std::string(text);
}

std::string dim(const Screen& screen, std::string_view text) {
  return screen.styled ? fmt::format("\033[2m{}{}", text, end_style) : std::string(text);
}

std::size_t character_end(std::string_view text, std::size_t at) {
  std::size_t end = at + character_at(text, at).octets;
  while (end < text.size()) {
    const Character next = character_at(text, end);
    if (!next.valid || next.code < 0x300 || next.code > 0x36f) break;
    end += next.octets;
  }
  return end;
}

int text_width(std::string_view text) {
  int width = 0;
  for (std::size_t at = 0; at < text.size(); at = character_end(text, at)) ++width;
  return width;
}

std::string printable(std::string_view text) {
  return smi::inert(text);
}

}  // namespace vergeset::report
