#pragma once

#include <cstdint>
#include <functional>
#include <string>

#include "records/disk.h"
#include "smi/result.h"

namespace vergeset::records {

/// listen/engine.json: who we are to units that send informs, of which we are the authoritative engine: our
/// snmpEngineID, which stays (units localize keys to it), and snmpEngineBoots, which counts up each time (RFC
/// 3414 2.2), so that nothing that was recorded under an earlier start is in the time window of a later one.
struct OwnEngine {
  std::string id;  ///< octets
  std::uint32_t boots = 0;
};

/// The engine of a new start: its boots are on stable storage when this returns, before anything is said
/// under them. The first time it gets the id that `draw` makes. A problem where the file cannot be read, or
/// has counted to the end (RFC 3414 2.2.2), with what to do: it is never made anew behind a person's back,
/// since units would hold keys of an engine that there is no more. Throws DiskError.
Result<OwnEngine> start_own_engine(Disk& disk, const std::function<std::string()>& draw);

}  // namespace vergeset::records
