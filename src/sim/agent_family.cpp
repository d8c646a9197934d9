#include "sim/agent_family.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/signalfd.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <unordered_map>
#include <utility>

#include "sim/agent_control.h"
#include "sim/process_room.h"
#include "sim/state_file.h"

namespace vergeset::sim {

namespace {

/// So many units start at once: enough for every core, and few enough that the pipe of their words
/// never fills.
constexpr std::size_t starting_at_once = 64;

constexpr int longest_silence_ms = 30000;

/// What a child says of its start: shorter than PIPE_BUF, so that whole ones arrive.
struct Word {
  std::size_t unit = 0;
  bool ready = false;
  std::uint16_t port = 0;
  std::array<char, 256> problem{};
};

class Family {
 public:
  Family(Loader& loader, const Roll& roll, const schema::Schema& schema, const FamilyOptions& options)
      : loader_(loader), roll_(roll), schema_(schema), options_(options), children_(roll.units.size()) {}

  int run();

 private:
  enum class State { none, starting, ready, failed };
  struct Child {
    pid_t process = -1;
    std::uint16_t port = 0;
    State state = State::none;  ///< the control sockets of those that were never ready are not ours
  };

  bool open();
  bool start_units();
  bool all_started() const;
  bool fork_next();
  [[noreturn]] void be_child(std::size_t at, const std::string& start, pid_t parent);
  void hear();
  void hear_of(std::size_t unit, bool ready, const std::string& problem);
  bool asked_to_end();
  bool reap();  ///< false where a unit has ended by itself
  void tell_ready() const;
  int wait_for_end();
  void end_units();

  bool fail(const std::string& text) const {
    fmt::print(stderr, "roadside-sim: {}\n", text);
    return false;
  }

  Loader& loader_;
  const Roll& roll_;
  const schema::Schema& schema_;
  const FamilyOptions& options_;
  std::vector<Child> children_;
  std::unordered_map<pid_t, std::size_t> unit_of_;
  std::size_t forked_ = 0;
  std::size_t heard_ = 0;
  bool failed_ = false;
  bool told_to_end_ = false;
  bool some_ended_ = false;
  std::array<int, 2> words_{-1, -1};
  int signals_ = -1;
  sigset_t before_{};
};

bool Family::open() {
  sigset_t waited;
  sigemptyset(&waited);
  for (const int signal : {SIGTERM, SIGINT, SIGCHLD}) sigaddset(&waited, signal);
  sigprocmask(SIG_BLOCK, &waited, &before_);
  signals_ = ::signalfd(-1, &waited, SFD_CLOEXEC | SFD_NONBLOCK);
  if (signals_ < 0 || ::pipe(words_.data()) != 0)
    return fail(fmt::format("cannot make a pipe: {}", std::strerror(errno)));
  ::fcntl(words_[0], F_SETFL, O_NONBLOCK);
  return true;
}

void Family::be_child(std::size_t at, const std::string& packed, pid_t parent) {
  prctl(PR_SET_PDEATHSIG, SIGTERM);
  if (getppid() != parent) _exit(1);
  sigprocmask(SIG_SETMASK, &before_, nullptr);
  signal(SIGTERM, SIG_DFL);
  signal(SIGINT, SIG_IGN);  // from a terminal: the parent's to handle
  for (const int parents : {words_[0], signals_, loader_.pipe()}) ::close(parents);
  const UnitStart start = unpack(packed);
  ServeOptions options = options_.serve;
  options.dead = roll_.dead.contains(start.name);
  const auto say = [&](const std::string& problem, std::uint16_t port) {
    Word word;
    word.unit = at;
    word.ready = problem.empty();
    word.port = port;
    problem.copy(word.problem.data(), word.problem.size() - 1);
    const ssize_t written = ::write(words_[1], &word, sizeof word);
    if (written != static_cast<ssize_t>(sizeof word)) _exit(1);
    ::close(words_[1]);
  };
  const schema::Model* const model = schema_.model(start.model);
  if (model == nullptr)
    say("there is no model '" + start.model + "'", 0);
  else
    serve_unit(start, *model, users_known(roll_, start.credential), options, say);
  _exit(1);
}

bool Family::fork_next() {
  const auto start = loader_.next();
  const std::string& name = roll_.units[forked_];
  if (!start) return fail("the fleet's reader has ended before " + name);
  const pid_t self = getpid();
  const pid_t process = fork();
  if (process == 0) be_child(forked_, *start, self);
  if (process < 0)
    return fail(
        fmt::format("{}, unit {} of {}: cannot fork: {} (ulimit -u, kernel.pid_max, kernel.threads-max, "
                    "memory and the control group's pids.max limit it); none is served",
                    name, forked_ + 1, children_.size(), std::strerror(errno)));
  children_[forked_] = {process, 0, State::starting};
  unit_of_.emplace(process, forked_);
  ++forked_;
  return true;
}

void Family::hear_of(std::size_t unit, bool ready, const std::string& problem) {
  Child& child = children_[unit];
  if (child.state == State::starting) ++heard_;
  child.state = ready ? State::ready : State::failed;
  if (ready) return;
  failed_ = true;
  fail(roll_.units[unit] + ": " + problem);
}

void Family::hear() {
  Word word;
  while (::read(words_[0], &word, sizeof word) == static_cast<ssize_t>(sizeof word)) {
    children_[word.unit].port = word.port;
    hear_of(word.unit, word.ready, word.problem.data());
  }
}

/// Empties the signals that have come; true where one of them was SIGTERM or SIGINT.
bool Family::asked_to_end() {
  signalfd_siginfo signal{};
  while (::read(signals_, &signal, sizeof signal) == static_cast<ssize_t>(sizeof signal))
    (signal.ssi_signo == SIGCHLD ? some_ended_ : told_to_end_) = true;
  return told_to_end_;
}

bool Family::reap() {
  // Looking for them takes time in the number of children.
  if (!std::exchange(some_ended_, false)) return true;
  bool all_live = true;
  int status = 0;
  for (pid_t ended = 0; (ended = waitpid(-1, &status, WNOHANG)) > 0;) {
    const auto found = unit_of_.find(ended);
    if (found == unit_of_.end()) continue;  // the loader, when it has done its work
    Child& child = children_[found->second];
    child.process = -1;
    all_live = false;
    if (child.state != State::failed) hear_of(found->second, false, "has ended by itself");
  }
  return all_live;
}

bool Family::all_started() const {
  return heard_ == (failed_ ? forked_ : children_.size());
}

bool Family::start_units() {
  while (!all_started()) {
    const bool more = !failed_ && forked_ < children_.size() && forked_ - heard_ < starting_at_once;
    std::array<pollfd, 3> waited{
        {{words_[0], POLLIN, 0}, {signals_, POLLIN, 0}, {more ? loader_.pipe() : -1, POLLIN, 0}}};
    if (::poll(waited.data(), waited.size(), longest_silence_ms) == 0)
      return fail(fmt::format("{} of {} units did not start", children_.size() - heard_, children_.size()));
    hear();
    if (asked_to_end()) return false;
    reap();
    if (waited[2].revents != 0 && !fork_next()) return false;
  }
  return !failed_;
}

void Family::tell_ready() const {
  for (std::size_t i = 0; options_.ports && i < children_.size(); ++i)
    fmt::print("{} {}\n", children_[i].port, roll_.units[i]);
  fmt::print("{} unit{} ready", children_.size(), children_.size() == 1 ? "" : "s");
  if (!roll_.dead.empty()) fmt::print(", {} dead: {}", roll_.dead.size(), fmt::join(roll_.dead, " "));
  fmt::print("\n");
  std::fflush(stdout);
}

int Family::wait_for_end() {
  const std::int64_t end = now_ms() + 1000LL * options_.seconds;
  while (true) {
    const std::int64_t left = options_.seconds > 0 ? end - now_ms() : longest_silence_ms;
    if (left <= 0) return 0;
    std::array<pollfd, 2> waited{{{signals_, POLLIN, 0}, {options_.lifeline, 0, 0}}};
    ::poll(waited.data(), waited.size(), static_cast<int>(std::min<std::int64_t>(left, longest_silence_ms)));
    if (asked_to_end() || waited[1].revents != 0) return 0;
    if (!reap()) return 1;
  }
}

void Family::end_units() {
  for (const Child& child : children_)
    if (child.process > 0) kill(child.process, SIGTERM);
  for (const Child& child : children_)
    if (child.process > 0) waitpid(child.process, nullptr, 0);
  if (options_.serve.control.empty()) return;
  hear();  // those that became ready while the others were told to end
  for (std::size_t i = 0; i < children_.size(); ++i)
    if (children_[i].state == State::ready)
      ::unlink(control_path(options_.serve.control, roll_.units[i]).c_str());
}

int Family::run() {
  if (const std::string lack = lack_of_room(children_.size(), process_room()); !lack.empty()) {
    fail(lack);
    return 1;
  }
  if (!open()) return 1;
  now_ms();
  int status = 1;
  if (start_units()) {
    ::close(words_[1]);
    loader_.close_pipe();
    loader_.status();  // its memory is free, and every child is a unit, before anyone counts
    tell_ready();
    bool told = true;
    if (!options_.ready.empty())
      if (const auto written = write_whole(options_.ready, fmt::format("{}\n", children_.size())); !written)
        told = fail(written.problem());
    if (told) status = wait_for_end();
  } else if (told_to_end_) {
    status = 0;
  }
  end_units();
  return status;
}

}  // namespace

int serve_family(Loader& loader, const Roll& roll, const schema::Schema& schema,
                 const FamilyOptions& options) {
  return Family(loader, roll, schema, options).run();
}

}  // namespace vergeset::sim
