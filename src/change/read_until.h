#pragma once

#include <chrono>
#include <vector>

#include "change/survey.h"
#include "snmp/network.h"

namespace vergeset::change {

/// Reads single instances, and once more as long as no answer comes, until `until` (of Network::now): a unit
/// that starts anew is away for a while. Read once in any case.
snmp::Task<Surveyed> read_until(snmp::Network& network, snmp::Link& link, std::vector<smi::Oid> instances,
                                std::chrono::milliseconds until);

/// Whether the unit may answer a little later: it was silent, nothing listened there, it could not tell just
/// now, or its clock was set.
bool may_answer_later(const snmp::Error& error);

}  // namespace vergeset::change
