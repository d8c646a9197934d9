#pragma once

#include <string>

#include "schema/model.h"
#include "sim/agent_loader.h"
#include "sim/agent_process.h"

namespace vergeset::sim {

struct FamilyOptions {
  ServeOptions serve;
  std::string ready;  ///< a file to write when every unit answers
  int seconds = 0;    ///< 0: until told to end
  int lifeline = -1;  ///< a pipe that nobody writes to any more when it is time to end; -1: none
  bool ports =
      false;  ///< a line "PORT UNIT" each to standard output, in the order of the roll, when all answer
};

/// Forks one process for each unit that the loader hands over, says when all answer, and waits for
/// SIGTERM, SIGINT or the time to end. Whatever ends this process ends the units. The result is the
/// exit status; problems go to stderr.
int serve_family(Loader& loader, const Roll& roll, const schema::Schema& schema,
                 const FamilyOptions& options);

}  // namespace vergeset::sim
