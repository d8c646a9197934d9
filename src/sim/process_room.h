#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace vergeset::sim {

/// How many processes there are, and may be: for one process a unit, before the first is started.
struct ProcessRoom {
  std::uint64_t running = 0;                ///< processes and threads in the system
  std::uint64_t pid_max = 0;                ///< kernel.pid_max
  std::uint64_t threads_max = 0;            ///< kernel.threads-max
  std::optional<std::uint64_t> user_limit;  ///< RLIMIT_NPROC, where this user is held to it
};

ProcessRoom process_room();

/// Why so many more processes cannot be; empty where they can, as far as is known.
std::string lack_of_room(std::uint64_t more, const ProcessRoom& room);

}  // namespace vergeset::sim
