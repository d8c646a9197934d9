#include "cli/child.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <utility>

namespace vergeset::cli {

namespace {

using Steady = std::chrono::steady_clock;
constexpr std::size_t most_printed = 1 << 20;

std::vector<char*> pointers_to(std::vector<std::string>& words) {
  std::vector<char*> pointers;
  for (std::string& word : words) pointers.push_back(word.data());
  pointers.push_back(nullptr);
  return pointers;
}

}  // namespace

Result<Child> Child::start(const std::string& program, std::vector<std::string> words,
                           std::vector<std::string> environment) {
  std::array<int, 2> ends{-1, -1};
  if (::pipe2(ends.data(), O_CLOEXEC | O_NONBLOCK) != 0)
    return Problem{fmt::format("no pipe for {}: {}", program, std::strerror(errno))};
  words.insert(words.begin(), program);
  posix_spawn_file_actions_t actions;
  ::posix_spawn_file_actions_init(&actions);
  ::posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
  ::posix_spawn_file_actions_adddup2(&actions, ends[1], STDOUT_FILENO);
  ::posix_spawn_file_actions_adddup2(&actions, ends[1], STDERR_FILENO);
  pid_t process = -1;
  const int failed = ::posix_spawn(&process, program.c_str(), &actions, nullptr, pointers_to(words).data(),
                                   pointers_to(environment).data());
  ::posix_spawn_file_actions_destroy(&actions);
  ::close(ends[1]);
  if (failed == 0) return Child(process, ends[0]);
  ::close(ends[0]);
  return Problem{fmt::format("{} cannot be started: {}", program, std::strerror(failed))};
}

Child::Child(Child&& other) noexcept
    : process_(std::exchange(other.process_, -1)),
      output_(std::exchange(other.output_, -1)),
      status_(other.status_),
      printed_(std::move(other.printed_)) {}

Child::~Child() {
  using namespace std::chrono_literals;
  if (process_ > 0) {
    ::kill(process_, SIGTERM);
    if (!ended_within(2s)) {
      ::kill(process_, SIGKILL);
      ended_within(2s);
    }
  }
  if (output_ >= 0) ::close(output_);
}

/// False once there will be no more.
bool Child::take_output() {
  std::array<char, 4096> part{};
  while (true) {
    const ssize_t size = ::read(output_, part.data(), part.size());
    if (size < 0 && errno == EINTR) continue;
    if (size <= 0) return size < 0 && errno == EAGAIN;
    const std::size_t room = most_printed - printed_.size();
    printed_.append(part.data(), std::min(static_cast<std::size_t>(size), room));
  }
}

bool Child::wait_until(Steady::time_point end) {
  constexpr int a_moment_ms = 5;
  while (true) {
    int status = 0;
    const pid_t done = ::waitpid(process_, &status, WNOHANG);
    if (done == process_) {
      process_ = -1;
      if (WIFEXITED(status)) status_ = WEXITSTATUS(status);
      return true;
    }
    if (Steady::now() >= end) return false;
    ::poll(nullptr, 0, a_moment_ms);
  }
}

bool Child::ended_within(std::chrono::milliseconds limit) {
  if (process_ <= 0) return true;
  const auto end = Steady::now() + limit;
  while (Steady::now() < end) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(end - Steady::now()).count();
    pollfd readable{output_, POLLIN, 0};
    if (::poll(&readable, 1, static_cast<int>(left)) > 0 && !take_output()) break;
  }
  return wait_until(end);
}

}  // namespace vergeset::cli
