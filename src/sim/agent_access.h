#pragma once

#include <string>
#include <vector>

#include "sim/access_tables.h"
#include "sim/agent_library.h"

namespace vergeset::sim {

/// Who may do what at a unit's agent (RFC 3414 for users, RFC 3415 for views). The rows stand in
/// net-snmp's own lists, which its usmUser and vacm modules serve; managers may change all of them.

/// One group that reads and writes everything, with authPriv alone.
void open_views();

/// Makes the user known to this engine, and a member of that group; where it speaks at a lower level, of
/// another, which is made for that level.
bool let_in(const AgentUser& user, const std::string& engine_id);

/// All rows as they are, and in place of all that there are.
AccessTables access_tables();
void put_access_tables(const AccessTables& tables);

}  // namespace vergeset::sim
