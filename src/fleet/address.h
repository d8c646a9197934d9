#pragma once

#include <string>

#include "smi/result.h"

namespace vergeset::fleet {

/// Checks an IPv4 address, an IPv6 address or a host name (RFC 1123 2.1), and gives it in the one
/// spelling under which two units with the same address are found out.
Result<std::string> host_of(const std::string& text);

}  // namespace vergeset::fleet
