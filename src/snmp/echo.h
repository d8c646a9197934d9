#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace vergeset::snmp {

/// Echo messages of ICMP (RFC 792) and ICMPv6 (RFC 4443 4.1, 4.2), as octets. Pure. The identifier is the
/// system's affair: a datagram socket of ICMP puts its own and is given the answers to it alone.
enum class Icmp { v4, v6 };

/// The Internet checksum (RFC 1071) of octets whose own checksum field is 0.
std::uint16_t internet_checksum(std::string_view octets);

/// An echo request. Of ICMPv6 the checksum is left 0: it covers addresses that the system chooses (RFC 4443
/// 2.3).
std::string echo_request(Icmp protocol, std::uint16_t identifier, std::uint16_t sequence,
                         std::string_view payload);

/// Whether this message is the reply to that request: RFC 792 and RFC 4443 4.2 have sequence and payload come
/// back unchanged.
bool is_reply(Icmp protocol, std::string_view message, std::uint16_t sequence, std::string_view payload);

}  // namespace vergeset::snmp
