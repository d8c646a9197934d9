#include "snmp/engine_id.h"

#include <arpa/inet.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <string_view>

namespace vergeset::snmp {

namespace {

std::string hex(std::string_view octets, std::string_view between = "") {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string out;
  for (const char octet : octets) {
    const auto number = static_cast<unsigned char>(octet);
    if (!out.empty()) out += between;
    out += digits[number >> 4U];
    out += digits[number & 15U];
  }
  return out;
}

std::string address(int family, std::string_view octets) {
  std::array<char, INET6_ADDRSTRLEN> text{};
  inet_ntop(family, octets.data(), text.data(), text.size());
  return text.data();
}

/// The octets behind the fifth, which says how they are to be read.
void read_content(unsigned format, std::string_view octets, EngineId& id) {
  constexpr unsigned first_of_vendors = 128;
  if (format == 1 && octets.size() == 4) {
    id.kind = "IPv4 address";
    id.content = address(AF_INET, octets);
  } else if (format == 2 && octets.size() == 16) {
    id.kind = "IPv6 address";
    id.content = address(AF_INET6, octets);
  } else if (format == 3 && octets.size() == 6) {
    id.kind = "MAC address";
    id.content = hex(octets, ":");
  } else if (format == 4) {
    id.kind = "text";
    id.content = octets;
  } else {
    id.kind = format < first_of_vendors ? "octets" : "vendor's own";
    id.content = hex(octets);
  }
}

}  // namespace

std::optional<EngineId> read_engine_id(const std::string& octets) {
  constexpr std::size_t least = 5;
  constexpr std::size_t most = 32;
  const auto all = [&octets](char octet) {
    return std::all_of(octets.begin(), octets.end(), [octet](char one) { return one == octet; });
  };
  if (octets.size() < least || octets.size() > most || all('\0') || all('\xff')) return std::nullopt;
  EngineId id;
  const auto octet = [&octets](std::size_t at) { return static_cast<unsigned char>(octets[at]); };
  for (std::size_t i = 0; i < 4; ++i) id.enterprise = id.enterprise << 8U | octet(i);
  constexpr std::uint32_t first_bit = 0x80000000U;
  const bool told = (id.enterprise & first_bit) != 0;
  id.enterprise &= ~first_bit;
  if (told) {
    read_content(octet(4), std::string_view(octets).substr(least), id);
  } else {
    id.kind = "RFC 1910";
    id.content = hex(std::string_view(octets).substr(4));
  }
  return id;
}

}  // namespace vergeset::snmp
