#pragma once

#include <memory>
#include <string>

#include "fleet/fleet.h"
#include "records/key_store.h"
#include "smi/result.h"

namespace vergeset::cli {

/// Where the fleet's keys are kept, as fleet.yaml says under key-store. A problem where it names none, or a
/// file that others than its owner may read.
Result<std::unique_ptr<records::KeyPlace>> key_place(const fleet::Fleet& fleet);

/// The keys that are kept there. A problem says what to do.
Result<records::KeyStore> open_keys(const fleet::Fleet& fleet, records::KeyPlace& place);

}  // namespace vergeset::cli
