#include <fmt/format.h>

#include "smi/octet.h"
#include "smi/value.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

int digit_of(char letter) {
  if (letter >= '0' && letter <= '9') return letter - '0';
  if (letter >= 'a' && letter <= 'f') return letter - 'a' + 10;
  if (letter >= 'A' && letter <= 'F') return letter - 'A' + 10;
  return -1;
}

bool blank(char letter) {
  return trimmed({&letter, 1}).empty();
}
bool joint(char letter) {
  return letter == ':' || letter == '-';
}

Problem stray(char letter, std::size_t at) {
  return {fmt::format("expected hex digits, found {} at character {}", shown({&letter, 1}), at + 1)};
}

}  // namespace

std::string to_hex(std::string_view octets) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string text(octets.size() * 2, '0');
  for (std::size_t at = 0; at < octets.size(); ++at) {
    const auto octet = static_cast<unsigned char>(octets[at]);
    text[2 * at] = digits[octet >> 4];
    text[2 * at + 1] = digits[octet & 0xf];
  }
  return text;
}

Result<std::string> from_hex(std::string_view text) {
  std::string octets;
  int high = -1;        // the first digit of an octet that waits for its second
  bool joined = false;  // a colon or dash that waits for the octet behind it
  for (std::size_t at = 0; at < text.size(); ++at) {
    const char letter = text[at];
    const int digit = digit_of(letter);
    if (digit < 0) {
      if (high >= 0 || !(blank(letter) || joint(letter))) return stray(letter, at);
      if (joint(letter) && (joined || octets.empty())) return stray(letter, at);
      joined = joined || joint(letter);
    } else if (high < 0) {
      high = digit;
      joined = false;
    } else {
      octets += octet(high * 16 + digit);
      high = -1;
    }
  }
  if (high >= 0) return Problem{"expected two hex digits for each octet, found an odd number of digits"};
  if (joined) return stray(text[text.find_last_of(":-")], text.find_last_of(":-"));
  return octets;
}

}  // namespace vergeset::smi
