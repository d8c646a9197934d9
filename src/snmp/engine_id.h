#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace vergeset::snmp {

/// What an snmpEngineID tells of its agent (RFC 3411 section 5, SnmpEngineID): who made it, and what it was
/// made of. Pure.
struct EngineId {
  std::uint32_t enterprise = 0;  ///< IANA's private enterprise number of the vendor
  /// "IPv4 address", "IPv6 address", "MAC address", "text", "octets", "vendor's own", or "RFC 1910" for the
  /// twelve octets of that time.
  std::string kind;
  std::string content;  ///< in the usual notation of its kind; text as it is, other octets in hex
};

/// Nothing where it is no engine id: not 5 to 32 octets, or all of them 0 or all 255.
std::optional<EngineId> read_engine_id(const std::string& octets);

}  // namespace vergeset::snmp
