#pragma once

#include <sys/socket.h>

#include <cstdint>
#include <string>

#include "smi/result.h"

namespace vergeset::snmp {

struct Address {
  sockaddr_storage socket{};
  socklen_t size = 0;
  std::string text;     ///< "192.0.2.7:161", "[2001:db8::7]:161"
  std::string library;  ///< the same as net-snmp takes it: "udp:192.0.2.7:161"
};

/// IPv4, IPv6 (with or without brackets) or a name. A name is looked up by the system's resolver,
/// which blocks the loop while it waits: inventories of any size should have addresses.
Result<Address> resolve(const std::string& host, std::uint16_t port);

}  // namespace vergeset::snmp
