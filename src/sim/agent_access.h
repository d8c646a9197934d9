#pragma once

#include <string>

#include "sim/agent_library.h"

namespace vergeset::sim {

/// Who may do what at a unit's agent (RFC 3414 for users, RFC 3415 for views).

/// One group that reads and writes everything, with authPriv alone.
void open_views();

/// Makes the user known to this engine, and a member of that group.
bool let_in(const AgentUser& user, const std::string& engine_id);

}  // namespace vergeset::sim
