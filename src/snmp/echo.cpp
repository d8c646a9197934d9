#include "snmp/echo.h"

#include <cstddef>

namespace vergeset::snmp {

namespace {

constexpr std::size_t header = 8;

void put(std::string& octets, std::size_t at, std::uint16_t number) {
  octets[at] = static_cast<char>(number >> 8U);
  octets[at + 1] = static_cast<char>(number & 0xffU);
}

std::uint16_t number_at(std::string_view octets, std::size_t at) {
  return static_cast<std::uint16_t>(static_cast<unsigned char>(octets[at]) << 8U |
                                    static_cast<unsigned char>(octets[at + 1]));
}

}  // namespace

std::uint16_t internet_checksum(std::string_view octets) {
  std::uint32_t sum = 0;
  std::size_t at = 0;
  for (; at + 1 < octets.size(); at += 2) sum += number_at(octets, at);
  if (at < octets.size()) sum += static_cast<std::uint32_t>(static_cast<unsigned char>(octets[at])) << 8U;
  while (sum >> 16U != 0) sum = (sum & 0xffffU) + (sum >> 16U);
  return static_cast<std::uint16_t>(~sum & 0xffffU);
}

std::string echo_request(Icmp protocol, std::uint16_t identifier, std::uint16_t sequence,
                         std::string_view payload) {
  constexpr char type_v4 = 8;
  constexpr auto type_v6 = static_cast<char>(128);
  std::string octets(header, '\0');
  octets[0] = protocol == Icmp::v4 ? type_v4 : type_v6;
  put(octets, 4, identifier);
  put(octets, 6, sequence);
  octets += payload;
  if (protocol == Icmp::v4) put(octets, 2, internet_checksum(octets));
  return octets;
}

bool is_reply(Icmp protocol, std::string_view message, std::uint16_t sequence, std::string_view payload) {
  constexpr unsigned char type_v4 = 0;
  constexpr unsigned char type_v6 = 129;
  if (message.size() < header) return false;
  const bool reply = static_cast<unsigned char>(message[0]) == (protocol == Icmp::v4 ? type_v4 : type_v6);
  return reply && message[1] == 0 && number_at(message, 6) == sequence && message.substr(header) == payload;
}

}  // namespace vergeset::snmp
