#include "fleet/command_output.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace vergeset::fleet {

namespace {

using Clock = std::chrono::steady_clock;

constexpr std::size_t most_output = 64UL * 1024;
using Piece = std::array<char, 4096>;

/// In the child: only calls that are safe between fork and exec.
[[noreturn]] void run(const char* command, const char* folder, int output) {
  setpgid(0, 0);
  sigset_t none;
  sigemptyset(&none);
  sigprocmask(SIG_SETMASK, &none, nullptr);
  signal(SIGPIPE, SIG_DFL);
  const int nothing = open("/dev/null", O_RDWR);
  if (nothing < 0 || dup2(nothing, 0) < 0 || dup2(output, 1) < 0 || dup2(nothing, 2) < 0) _exit(126);
  close_range(3, ~0U, 0);
  if (chdir(folder) != 0) _exit(126);
  execl("/bin/sh", "sh", "-c", command, static_cast<char*>(nullptr));
  _exit(126);
}

int milliseconds_until(Clock::time_point deadline) {
  const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(deadline - Clock::now());
  return static_cast<int>(std::max<std::int64_t>(0, left.count()));
}

/// Reads until the other end closes; false where that takes too long or it prints without end.
bool read_all(int input, Clock::time_point deadline, std::string& text) {
  Piece piece{};
  while (text.size() < most_output) {
    pollfd ready{input, POLLIN, 0};
    const int polled = poll(&ready, 1, milliseconds_until(deadline));
    if (polled < 0 && errno == EINTR) continue;
    if (polled <= 0) return false;
    const ssize_t count = read(input, piece.data(), piece.size());
    if (count < 0 && errno == EINTR) continue;
    if (count <= 0) return count == 0;
    text.append(piece.data(), static_cast<std::size_t>(count));
    wipe(piece.data(), piece.size());
  }
  return false;
}

/// The child's status, or nothing where it does not end in time.
bool ended(pid_t child, Clock::time_point deadline, int& status) {
  while (true) {
    const pid_t done = waitpid(child, &status, WNOHANG);
    if (done == child) return true;
    if (done < 0 && errno != EINTR) return false;
    if (milliseconds_until(deadline) == 0) return false;
    poll(nullptr, 0, 5);
  }
}

}  // namespace

Result<Secret> command_output(const std::string& command, const std::string& folder,
                              std::chrono::milliseconds wait) {
  const auto deadline = Clock::now() + wait;
  std::array<int, 2> ends{};
  if (pipe2(ends.data(), O_CLOEXEC) != 0) return Problem{fmt::format("no pipe: {}", strerror(errno))};
  const pid_t child = fork();
  if (child == 0) run(command.c_str(), folder.c_str(), ends[1]);
  close(ends[1]);
  if (child < 0) {
    close(ends[0]);
    return Problem{fmt::format("no process: {}", strerror(errno))};
  }
  setpgid(child, child);
  std::string text;
  text.reserve(most_output + Piece().size());  // growing, it would leave pieces behind
  int status = 0;
  const bool in_time = read_all(ends[0], deadline, text) && ended(child, deadline, status);
  close(ends[0]);
  Secret printed(std::move(text));
  if (!in_time) {
    kill(-child, SIGKILL);
    kill(child, SIGKILL);  // which may have left its group
    waitpid(child, &status, 0);
    return Problem{
        fmt::format("did not end within {} ms, or printed more than {} octets", wait.count(), most_output)};
  }
  if (WIFSIGNALED(status)) return Problem{fmt::format("was ended by signal {}", WTERMSIG(status))};
  if (WEXITSTATUS(status) != 0) return Problem{fmt::format("ended with status {}", WEXITSTATUS(status))};
  return printed;
}

}  // namespace vergeset::fleet
