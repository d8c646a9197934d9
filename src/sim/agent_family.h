#pragma once

#include <map>
#include <string>
#include <vector>

#include "sim/agent_process.h"

namespace vergeset::sim {

struct FamilyOptions {
  ServeOptions serve;
  std::string ready;  ///< a file to write when every unit answers
  int seconds = 0;    ///< 0: until told to end
};

/// Forks one process a unit, says when all answer, and waits for SIGTERM, SIGINT or the time to end.
/// Whatever ends this process ends the units. The result is the exit status; problems go to stderr.
int serve_family(const std::vector<const fleet::Unit*>& units, const std::map<std::string, AgentUser>& users,
                 const FamilyOptions& options);

}  // namespace vergeset::sim
