#pragma once

#include <optional>
#include <string>

#include "fleet/layer.h"

#include "fleet/fleet.h"

namespace vergeset::fleet {

/// What fleet.yaml holds besides the fields of Fleet itself.
struct FleetFile {
  Layer layer;
  std::string credential;             ///< the default one; empty: none
  std::optional<std::uint16_t> port;  ///< of units that state none
};

/// Reads fleet.yaml into `fleet`.
FleetFile read_fleet_file(const schema::Entry& root, Fleet& fleet);

}  // namespace vergeset::fleet
