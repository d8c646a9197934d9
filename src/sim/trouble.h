#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/status.h"

namespace vergeset::sim {

/// What a unit is told to do wrong. Each is counted down as it happens, and at 0 it is over.
struct Trouble {
  struct Refusal {
    std::string
        object;  ///< object type, instance as "rsuMsgRepeatPsid.3", or one of access_names(); empty: any SET
    Status status = Status::gen_err;
    int left = 0;
    int after = 0;  ///< so many SETs that it speaks of pass first
  };
  struct Ignored {
    std::string object;  ///< as above; empty: the whole SET
    int left = 0;
  };
  struct Clip {
    std::string object;
    smi::Value value;
  };

  int drop = 0;           ///< requests that get no answer and do nothing
  int drop_response = 0;  ///< SETs that are carried out and get no answer
  int delay_ms = 0;       ///< before each answer
  int forget_users = 0;   ///< reboots after which users and access are as at the last start
  std::vector<Refusal> refusals;
  std::vector<Ignored> ignored;  ///< SETs acknowledged and not carried out
  std::vector<Clip> clips;       ///< whatever is written there is stored as this
};

}  // namespace vergeset::sim
