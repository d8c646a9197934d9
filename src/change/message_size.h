#pragma once

#include <cstddef>

#include "smi/oid.h"
#include "smi/value.h"

namespace vergeset::change {

/// What a request should hold at most: cellular backhaul drops fragments, so a message stays below an
/// Ethernet frame. Net of the SNMPv3 wrapping of about 120 octets.
constexpr std::size_t message_octets = 1250;

/// The octets of one variable binding in a message (ITU-T X.690 lengths, RFC 3416 section 3).
std::size_t varbind_octets(const smi::Oid& oid, const smi::Value& value);
/// The same where the value's contents take so many; of an instance of a column.
std::size_t column_octets(const smi::Oid& column, std::size_t contents);
/// What the contents of a value take, without its tag and length.
std::size_t contents_octets(const smi::Value& value);

}  // namespace vergeset::change
