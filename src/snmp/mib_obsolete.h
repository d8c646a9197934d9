#pragma once

#include <set>
#include <string>
#include <string_view>
#include <utility>

namespace vergeset::snmp {

/// A module and a name in it.
using MibName = std::pair<std::string, std::string>;

/// The NOTIFICATION-TYPEs of a file that have STATUS obsolete (RFC 2578 8.2): net-snmp's parser reads their
/// status and keeps it nowhere. Whatever the file holds, this comes to an end; what is no MIB has none.
std::set<MibName> obsolete_notifications(std::string_view text);

}  // namespace vergeset::snmp
