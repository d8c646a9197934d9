#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "smi/result.h"

namespace vergeset::fleet {

/// An IPv4 or IPv6 address; the octets of IPv4 are the first four.
struct HostAddress {
  bool v6 = false;
  std::array<std::uint8_t, 16> octets{};
  bool operator==(const HostAddress&) const = default;
};

struct Subnet {
  HostAddress base;  ///< its host bits are zero
  int prefix = 0;

  bool holds(const HostAddress& address) const;
  /// The subnet's own address or its broadcast address (RFC 950, RFC 922), which no host has; of IPv6 none.
  /// Subnets of 31 and 32 bits have neither (RFC 3021).
  bool is_reserved(const HostAddress& address) const;
};

/// A name is none.
Result<HostAddress> parse_host_address(std::string_view text);

/// "192.0.2.0/24", "2001:db8::/32".
Result<Subnet> parse_subnet(std::string_view text);

}  // namespace vergeset::fleet
