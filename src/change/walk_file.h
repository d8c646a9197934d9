#pragma once

#include <string>

#include "change/as_found.h"
#include "schema/place.h"

namespace vergeset::change {

/// What a unit answered, from the text that net-snmp's snmpwalk prints for it with numeric names
/// (`-On` or `-One`, and without MIB files, `-m ''`, so that octets are not put into a MIB's words).
/// It prints octets as STRING where all of them are printable or white space, otherwise as Hex-STRING:
/// both are read as the octets. A line that is none of its output is a fault under the name `file`; the
/// others are taken. The engine id is that of snmpEngineID.0 (RFC 3411) where the walk holds it.
AsFound read_walk(const std::string& text, const std::string& file, Faults& faults);

}  // namespace vergeset::change
