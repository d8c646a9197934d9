#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "sim/agent_library.h"
#include "sim/unit_start.h"

namespace vergeset::sim {

struct ServeOptions {
  std::string state = "factory";  ///< factory, desired, or a state file
  std::string keep;               ///< folder of UNIT.state and UNIT.users; empty: nothing is kept
  std::string control;            ///< folder of UNIT.sock; empty: none
  int transition_ms = 1500;
  int reboot_ms = 2000;
  // The road to the units, from the start on; what `tell` says comes on top, and `clear` leaves it.
  int delay_ms = 0;
  double loss_percent = 0;
  std::uint64_t seed = 1;
  bool dead = false;  ///< this unit: it holds its port and never answers
};

/// A unit as it starts: its kept state where there is one, otherwise what `state` says.
Result<SimUnit> start_unit(const UnitStart& start, const schema::Model& model, const ServeOptions& options,
                           std::int64_t now);

/// Milliseconds since 1970 that never go back: the system's time when the process began, and from
/// there the monotonic clock.
std::int64_t now_ms();

/// Serves one unit until the process ends. `ready` is called when it answers at this port, or with why it
/// cannot.
void serve_unit(const UnitStart& start, const schema::Model& model, const std::vector<AgentUser>& users,
                const ServeOptions& options,
                const std::function<void(const std::string& problem, std::uint16_t port)>& ready);

}  // namespace vergeset::sim
