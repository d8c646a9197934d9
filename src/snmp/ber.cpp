#include "snmp/ber.h"

namespace vergeset::snmp::ber {

namespace {

std::size_t head_size(std::string_view octets) {
  const auto first = static_cast<unsigned char>(octets[1]);
  return first < 128 ? 2 : 2U + (first & 0x7fU);
}

}  // namespace

std::string tagged(unsigned char tag, std::string_view content) {
  std::string text(1, static_cast<char>(tag));
  const std::size_t size = content.size();
  if (size >= 128) {
    const bool one = size < 256;
    text += static_cast<char>(one ? 0x81 : 0x82);
    if (!one) text += static_cast<char>(size >> 8U);
  }
  text += static_cast<char>(size & 0xffU);
  text += content;
  return text;
}

std::string number(std::int64_t value) {
  std::string content;
  int octets = 1;
  while (octets < 8 && value >> (8 * octets - 1) != 0 && value >> (8 * octets - 1) != -1) ++octets;
  for (int i = octets - 1; i >= 0; --i) content += static_cast<char>((value >> (8 * i)) & 0xff);
  return tagged(integer, content);
}

std::optional<std::size_t> value_size(std::string_view octets) {
  if (octets.size() < 2) return std::nullopt;
  const auto first = static_cast<unsigned char>(octets[1]);
  if (first < 128) return 2U + first;
  const std::size_t more = first & 0x7fU;
  if (more < 1 || more > 4) return 0;
  if (octets.size() < 2 + more) return std::nullopt;
  std::size_t size = 0;
  for (std::size_t i = 0; i < more; ++i) size = size * 256 + static_cast<unsigned char>(octets[2 + i]);
  return 2 + more + size;
}

std::string_view Reader::take_whole() {
  const auto size = value_size(left_);
  if (bad_ || size.value_or(0) == 0 || *size > left_.size()) {
    bad_ = true;
    return {};
  }
  const std::string_view whole = left_.substr(0, *size);
  left_.remove_prefix(*size);
  return whole;
}

std::string_view Reader::take(unsigned char tag) {
  if (left_.empty() || static_cast<unsigned char>(left_.front()) != tag) bad_ = true;
  const std::string_view whole = take_whole();
  return bad_ ? std::string_view() : whole.substr(head_size(whole));
}

std::int64_t Reader::take_number() {
  const std::string_view content = take(integer);
  if (content.empty() || content.size() > 5) {
    bad_ = true;
    return 0;
  }
  // Two's complement (X.690 8.3).
  std::int64_t value = (static_cast<unsigned char>(content.front()) & 0x80U) != 0 ? -1 : 0;
  for (const char octet : content) value = value * 256 + static_cast<unsigned char>(octet);
  return value;
}

}  // namespace vergeset::snmp::ber
