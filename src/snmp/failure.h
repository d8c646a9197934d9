#pragma once

#include <string>

#include "snmp/library.h"
#include "snmp/network.h"

namespace vergeset::snmp {

/// The failure that a REPORT tells of, by the counter that it carries (RFC 3414 3.2, RFC 3412 7.2).
Error report_error(const netsnmp_pdu& report);

/// Why a message was not sent, from the library's error and the system's. `peer` is for the text.
Error send_error(int library_error, int system_error, const std::string& peer);

/// What it says of the unit that an answer came which the library could not take.
Error garbled_error(int library_error, const std::string& peer);

/// A response's error-status as a failure. `at` is the variable binding that it points at, in text.
Error status_error(int status, std::size_t index, const std::string& at);

}  // namespace vergeset::snmp
