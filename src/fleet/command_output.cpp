#include "fleet/command_output.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <string_view>

namespace vergeset::fleet {

namespace {

using Clock = std::chrono::steady_clock;

using Piece = std::array<char, 4096>;

/// In the child: only calls that are safe between fork and exec.
[[noreturn]] void run(const char* command, const char* folder, int input, int output,
                      char* const* environment) {
  setpgid(0, 0);
  sigset_t none;
  sigemptyset(&none);
  sigprocmask(SIG_SETMASK, &none, nullptr);
  signal(SIGPIPE, SIG_DFL);
  const int nothing = open("/dev/null", O_RDWR);
  if (nothing < 0 || dup2(input < 0 ? nothing : input, 0) < 0 || dup2(output, 1) < 0 || dup2(nothing, 2) < 0)
    _exit(126);
  close_range(3, ~0U, 0);
  if (chdir(folder) != 0) _exit(126);
  execle("/bin/sh", "sh", "-c", command, static_cast<char*>(nullptr), environment);
  _exit(126);
}

/// Ours without these variables, as exec takes it.
std::vector<char*> environment_without(const std::vector<std::string>& withheld) {
  std::vector<char*> kept;
  for (char** variable = environ; *variable != nullptr; ++variable) {
    const std::string_view text(*variable);
    if (std::find(withheld.begin(), withheld.end(), text.substr(0, text.find('='))) == withheld.end())
      kept.push_back(*variable);
  }
  kept.push_back(nullptr);
  return kept;
}

int milliseconds_until(Clock::time_point deadline) {
  const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(deadline - Clock::now());
  return static_cast<int>(std::max<std::int64_t>(0, left.count()));
}

/// Reads until the other end closes; false where that takes too long or it prints without end.
bool read_all(int input, Clock::time_point deadline, std::size_t most_output, std::string& text) {
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

/// A file in memory that holds the text, at its begin; -1 where there can be none.
int held(std::string_view text) {
  const int file = memfd_create("input", MFD_CLOEXEC);
  if (file < 0) return -1;
  while (!text.empty()) {
    const ssize_t count = write(file, text.data(), text.size());
    if (count < 0 && errno == EINTR) continue;
    if (count <= 0) break;
    text.remove_prefix(static_cast<std::size_t>(count));
  }
  if (text.empty() && lseek(file, 0, SEEK_SET) == 0) return file;
  close(file);
  return -1;
}

}  // namespace

Result<Secret> command_output(const std::string& command, const std::string& folder,
                              std::chrono::milliseconds wait, const std::vector<std::string>& withheld,
                              std::string_view input, std::size_t most_output) {
  const auto deadline = Clock::now() + wait;
  const int given = input.empty() ? -1 : held(input);
  if (given < 0 && !input.empty()) return Problem{fmt::format("no memory file: {}", strerror(errno))};
  std::array<int, 2> ends{};
  if (pipe2(ends.data(), O_CLOEXEC) != 0) {
    if (given >= 0) close(given);
    return Problem{fmt::format("no pipe: {}", strerror(errno))};
  }
  const std::vector<char*> environment = environment_without(withheld);
  const pid_t child = fork();
  if (child == 0) run(command.c_str(), folder.c_str(), given, ends[1], environment.data());
  if (given >= 0) close(given);
  close(ends[1]);
  if (child < 0) {
    close(ends[0]);
    return Problem{fmt::format("no process: {}", strerror(errno))};
  }
  setpgid(child, child);
  std::string text;
  text.reserve(most_output + Piece().size());  // growing, it would leave pieces behind
  int status = 0;
  const bool in_time = read_all(ends[0], deadline, most_output, text) && ended(child, deadline, status);
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
