#pragma once

#include <cstdint>
#include <string>

namespace vergeset::checks {

/// Whether messages of a kind (by J2735 id) go under a PSID, by the allocations of IEEE 1609.12 (from memory;
/// BSM 0x20 and TIM 0x83 also RSU 4.1 MIB, RsuPsidTC). A kind that is not known here goes under any.
bool psid_fits(std::uint32_t psid, int message);

/// "0x82 or 0x204097"
std::string psids_text(int message);

}  // namespace vergeset::checks
