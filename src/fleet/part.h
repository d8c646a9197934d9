#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "smi/result.h"

namespace vergeset::fleet {

/// A share of the chosen units: `number` of `of` parts, as in --part 2/4.
///
/// Hosts that share a fleet have nothing in common but its files, so a part has to come out of the unit's
/// name alone, the same on every machine and in every version. And the number of hosts changes: a unit should
/// stay with its host (its logs and its audits are there) unless it has to move. Both is what rendezvous
/// hashing gives (D. Thaler, C. Ravishankar, "Using name-based mappings to increase hit rates", IEEE/ACM
/// Transactions on Networking 6(1), 1998): each part draws a number for the unit, the greatest wins, and
/// a part that is added can take units from the others but move none between them.
struct Part {
  std::uint32_t number = 1;
  std::uint32_t of = 1;
  bool operator==(const Part&) const = default;
};

/// More parts than that are a slip: choosing takes time in units times parts.
constexpr std::uint32_t most_parts = 1000;

/// "2/4": two whole numbers, the first from 1 to the second.
Result<Part> part_named(const std::string& text);

/// The part, 1 to `parts`, that a unit of this name is in.
std::uint32_t part_of(std::string_view unit, std::uint32_t parts);

/// SipHash-2-4 (J.-P. Aumasson, D. J. Bernstein, "SipHash: a fast short-input PRF", 2012) under the key whose
/// little-endian halves are k0 and k1.
std::uint64_t sip_hash(std::uint64_t k0, std::uint64_t k1, std::string_view octets);

}  // namespace vergeset::fleet
