#include "sim/process_room.h"

#include <fmt/format.h>
#include <sys/resource.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <limits>

namespace vergeset::sim {

namespace {

constexpr std::uint64_t unknown = std::numeric_limits<std::uint64_t>::max();

/// Pids below this are given out once only (RESERVED_PIDS of the Linux kernel, from memory).
constexpr std::uint64_t reserved_pids = 300;

std::uint64_t number_in(const std::string& file) {
  std::uint64_t number = unknown;
  std::ifstream(file) >> number;
  return number;
}

/// The number behind the slash of "0.20 0.18 0.12 1/80 11206" (proc(5), /proc/loadavg).
std::uint64_t running_now() {
  std::ifstream file("/proc/loadavg");
  std::string word;
  for (int i = 0; i < 4; ++i) file >> word;
  const std::size_t slash = word.find('/');
  return slash == std::string::npos ? 0 : std::strtoull(word.c_str() + slash + 1, nullptr, 10);
}

}  // namespace

ProcessRoom process_room() {
  ProcessRoom room;
  room.running = running_now();
  room.pid_max = number_in("/proc/sys/kernel/pid_max");
  room.threads_max = number_in("/proc/sys/kernel/threads-max");
  rlimit limit{};
  const bool held = ::geteuid() != 0;  // CAP_SYS_RESOURCE: setrlimit(2)
  if (held && ::getrlimit(RLIMIT_NPROC, &limit) == 0 && limit.rlim_cur != RLIM_INFINITY)
    room.user_limit = limit.rlim_cur;
  return room;
}

std::string lack_of_room(std::uint64_t more, const ProcessRoom& room) {
  const auto lack = [&](std::uint64_t allowed, const std::string& why) {
    return fmt::format(
        "{} units need as many processes, and there is room for {} ({}); choose fewer with "
        "--units, or raise that limit",
        more, allowed, why);
  };
  const auto left = [&](std::uint64_t limit, std::uint64_t taken) {
    return limit > taken ? limit - taken : 0;
  };
  if (room.user_limit && more + 1 > *room.user_limit)
    return lack(left(*room.user_limit, 1), fmt::format("ulimit -u is {}", *room.user_limit));
  const std::uint64_t pids = left(room.pid_max, room.running + reserved_pids);
  if (more > pids)
    return lack(pids, fmt::format("kernel.pid_max is {}, {} are running", room.pid_max, room.running));
  const std::uint64_t threads = left(room.threads_max, room.running);
  if (more > threads)
    return lack(threads,
                fmt::format("kernel.threads-max is {}, {} are running", room.threads_max, room.running));
  return {};
}

}  // namespace vergeset::sim
