#include "sim/agent_family.h"

#include <fmt/format.h>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <ctime>

#include "sim/agent_control.h"
#include "sim/state_file.h"

namespace vergeset::sim {

namespace {

/// What a child says of its start: shorter than PIPE_BUF, so that whole ones arrive.
struct Word {
  std::size_t unit = 0;
  bool ready = false;
  std::array<char, 256> problem{};
};

class Family {
 public:
  Family(const std::vector<const fleet::Unit*>& units, const std::map<std::string, AgentUser>& users,
         const FamilyOptions& options)
      : units_(units), users_(users), options_(options), children_(units.size(), -1), ready_(units.size()) {}

  int run();

 private:
  bool fork_units();
  [[noreturn]] void be_child(std::size_t unit, pid_t parent);
  bool all_ready();
  bool reap();  ///< false where a unit has ended
  int wait_for_end();
  void end_units();

  const std::vector<const fleet::Unit*>& units_;
  const std::map<std::string, AgentUser>& users_;
  const FamilyOptions& options_;
  std::vector<pid_t> children_;
  std::vector<bool> ready_;  ///< by unit; the control sockets of the others are not ours
  std::array<int, 2> words_{-1, -1};
  sigset_t before_{};
  sigset_t waited_{};
};

void Family::be_child(std::size_t at, pid_t parent) {
  prctl(PR_SET_PDEATHSIG, SIGTERM);
  if (getppid() != parent) _exit(1);
  sigprocmask(SIG_SETMASK, &before_, nullptr);
  signal(SIGTERM, SIG_DFL);
  signal(SIGINT, SIG_IGN);  // from a terminal: the parent's to handle
  ::close(words_[0]);
  const fleet::Unit& unit = *units_[at];
  serve_unit(unit, users_.at(unit.credential), options_.serve, [&](const std::string& problem) {
    Word word;
    word.unit = at;
    word.ready = problem.empty();
    problem.copy(word.problem.data(), word.problem.size() - 1);
    const ssize_t written = ::write(words_[1], &word, sizeof word);
    if (written != static_cast<ssize_t>(sizeof word)) _exit(1);
    ::close(words_[1]);
  });
  _exit(1);
}

bool Family::fork_units() {
  const pid_t self = getpid();
  for (std::size_t i = 0; i < units_.size(); ++i) {
    const pid_t child = fork();
    if (child == 0) be_child(i, self);
    if (child < 0) {
      fmt::print(stderr, "roadside-sim: {}: cannot fork: {}\n", units_[i]->name, std::strerror(errno));
      return false;
    }
    children_[i] = child;
  }
  ::close(words_[1]);
  return true;
}

/// Reads a word of each child; the pipe ends early where one died without.
bool Family::all_ready() {
  std::size_t ready = 0;
  for (std::size_t heard = 0; heard < units_.size(); ++heard) {
    pollfd pipe{words_[0], POLLIN, 0};
    Word word;
    if (::poll(&pipe, 1, 30000) <= 0 ||
        ::read(words_[0], &word, sizeof word) != static_cast<ssize_t>(sizeof word)) {
      fmt::print(stderr, "roadside-sim: {} of {} units did not start\n", units_.size() - heard,
                 units_.size());
      return false;
    }
    ready_[word.unit] = word.ready;
    if (word.ready) {
      ++ready;
    } else {
      fmt::print(stderr, "roadside-sim: {}: {}\n", units_[word.unit]->name, word.problem.data());
    }
  }
  return ready == units_.size();
}

bool Family::reap() {
  bool all_live = true;
  int status = 0;
  for (pid_t ended = 0; (ended = waitpid(-1, &status, WNOHANG)) > 0;)
    for (std::size_t i = 0; i < children_.size(); ++i)
      if (children_[i] == ended) {
        children_[i] = -1;
        all_live = false;
        fmt::print(stderr, "roadside-sim: {} has ended by itself\n", units_[i]->name);
      }
  return all_live;
}

int Family::wait_for_end() {
  const std::int64_t end = now_ms() + 1000LL * options_.seconds;
  while (true) {
    const std::int64_t left = options_.seconds > 0 ? end - now_ms() : 3600000;
    if (left <= 0) return 0;
    const timespec wait{left / 1000, left % 1000 * 1000000};
    const int signal = sigtimedwait(&waited_, nullptr, &wait);
    if (signal == SIGTERM || signal == SIGINT) return 0;
    if (!reap()) return 1;
  }
}

void Family::end_units() {
  for (const pid_t child : children_)
    if (child > 0) kill(child, SIGTERM);
  for (const pid_t child : children_)
    if (child > 0) waitpid(child, nullptr, 0);
  if (!options_.serve.control.empty())
    for (std::size_t i = 0; i < units_.size(); ++i)
      if (ready_[i]) ::unlink(control_path(options_.serve.control, units_[i]->name).c_str());
}

int Family::run() {
  sigemptyset(&waited_);
  for (const int signal : {SIGTERM, SIGINT, SIGCHLD}) sigaddset(&waited_, signal);
  sigprocmask(SIG_BLOCK, &waited_, &before_);
  now_ms();
  if (::pipe(words_.data()) != 0) {
    fmt::print(stderr, "roadside-sim: cannot make a pipe: {}\n", std::strerror(errno));
    return 1;
  }
  int status = 1;
  if (fork_units() && all_ready()) {
    fmt::print("{} unit{} ready\n", units_.size(), units_.size() == 1 ? "" : "s");
    std::fflush(stdout);
    bool told = true;
    if (!options_.ready.empty())
      if (const auto written = write_whole(options_.ready, fmt::format("{}\n", units_.size())); !written) {
        fmt::print(stderr, "roadside-sim: {}\n", written.problem());
        told = false;
      }
    if (told) status = wait_for_end();
  }
  end_units();
  return status;
}

}  // namespace

int serve_family(const std::vector<const fleet::Unit*>& units, const std::map<std::string, AgentUser>& users,
                 const FamilyOptions& options) {
  return Family(units, users, options).run();
}

}  // namespace vergeset::sim
