#pragma once

#include <functional>
#include <string>
#include <vector>

#include "smi/result.h"

namespace vergeset::sim {

/// A Unix stream socket for each unit, DIR/UNIT.sock: one line in, lines out, closed.

std::string control_path(const std::string& folder, const std::string& unit);

/// Listens, in place of a socket that nobody answers at any more; the result is the socket to poll.
Result<int> listen_control(const std::string& path);

/// Takes one connection from `socket`, reads its line and answers it; a peer that takes more than a
/// second for all of it is let go.
void serve_control(int socket, const std::function<std::string(const std::string&)>& answer);

/// The other end: `roadside-sim tell`. Waits five seconds at most.
Result<std::string> tell(const std::string& path, const std::string& line);

}  // namespace vergeset::sim
