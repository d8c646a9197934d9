#include "bits.h"

#include <fmt/format.h>

#include <bit>
#include <stdexcept>

namespace vergeset::payloads {

void Bits::flag(bool set) {
  raw(set ? 1 : 0, 1);
}

void Bits::raw(std::uint64_t value, int count) {
  for (int bit = count - 1; bit >= 0; --bit) {
    if (used_ == 8) {
      octets_.push_back('\0');
      used_ = 0;
    }
    if ((value >> bit) & 1U) {
      octets_.back() = static_cast<char>(static_cast<unsigned char>(octets_.back()) | (0x80U >> used_));
    }
    ++used_;
  }
}

void Bits::number(std::string_view field, std::int64_t value, std::int64_t low, std::int64_t high) {
  if (value < low || value > high) {
    throw std::out_of_range(fmt::format("{} is {}, and must be {} to {}", field, value, low, high));
  }
  const auto width = static_cast<int>(std::bit_width(static_cast<std::uint64_t>(high - low)));
  raw(static_cast<std::uint64_t>(value - low), width);
}

void Bits::ia5(std::string_view field, std::string_view text, std::int64_t low, std::int64_t high) {
  number(fmt::format("length of {}", field), static_cast<std::int64_t>(text.size()), low, high);
  for (const char c : text) {
    number(field, static_cast<unsigned char>(c), 0, 127);
  }
}

void Bits::extensible(std::string_view field, std::int64_t value, std::int64_t high) {
  flag(false);
  number(field, value, 0, high);
}

std::string Bits::octets() const {
  return octets_;
}

std::string message_frame(int message_id, std::string_view message) {
  Bits bits;
  bits.flag(false);
  bits.number("messageId", message_id, 0, 32767);
  const auto length = static_cast<std::int64_t>(message.size());
  if (length < 128) {
    bits.number("length", length, 0, 255);
  } else {
    bits.flag(true);
    bits.flag(false);
    bits.number("length", length, 0, 16383);
  }
  return bits.octets() + std::string(message);
}

}  // namespace vergeset::payloads
