#include "cli/twins.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/random.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <sstream>
#include <string_view>

#include "cli/load.h"
#include "snmp/principals.h"

namespace vergeset::cli {

namespace {

using namespace std::chrono_literals;
using Clock = std::chrono::steady_clock;

/// Long enough for hundreds of twins on a slow machine; a simulator that hangs is given up then.
constexpr auto longest_start = 60s;
/// Between standby and operate, of a twin.
constexpr const char* transition_ms = "50";
/// The only variable that it may need: where its libraries are, if not where the system has them.
constexpr const char* library_path = "LD_LIBRARY_PATH";

/// Hex digits of 128 random bits; nothing where the system gives none.
std::string random_secret() {
  std::array<unsigned char, 16> octets{};
  if (::getrandom(octets.data(), octets.size(), 0) != static_cast<ssize_t>(octets.size())) return {};
  std::string text;
  text.reserve(2 * octets.size());  // growing, it would leave pieces behind
  for (const unsigned char octet : octets) text += fmt::format("{:02x}", octet);
  ::explicit_bzero(octets.data(), octets.size());
  return text;
}

int milliseconds_until(Clock::time_point end) {
  const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(end - Clock::now()).count();
  return left > 0 ? static_cast<int>(left) : 0;
}

/// Both ends close on exec; -1 where there are none.
using Ends = std::array<int, 2>;

class SpawnActions {
 public:
  SpawnActions() {
    ::posix_spawn_file_actions_init(&files);
    ::posix_spawnattr_init(&attributes);
  }
  ~SpawnActions() {
    ::posix_spawn_file_actions_destroy(&files);
    ::posix_spawnattr_destroy(&attributes);
  }
  SpawnActions(const SpawnActions&) = delete;
  SpawnActions& operator=(const SpawnActions&) = delete;

  posix_spawn_file_actions_t files{};
  posix_spawnattr_t attributes{};
};

/// In a group of its own, so that Ctrl-C is ours to handle, with signals as a program finds them, and with
/// no file of ours.
void prepare(SpawnActions& actions, int input, int output) {
  ::posix_spawn_file_actions_adddup2(&actions.files, input, STDIN_FILENO);
  ::posix_spawn_file_actions_adddup2(&actions.files, output, STDOUT_FILENO);
  ::posix_spawn_file_actions_adddup2(&actions.files, output, STDERR_FILENO);
  ::posix_spawn_file_actions_addclosefrom_np(&actions.files, STDERR_FILENO + 1);
  sigset_t all;
  sigfillset(&all);
  sigset_t none;
  sigemptyset(&none);
  ::posix_spawnattr_setsigdefault(&actions.attributes, &all);
  ::posix_spawnattr_setsigmask(&actions.attributes, &none);
  ::posix_spawnattr_setpgroup(&actions.attributes, 0);
  ::posix_spawnattr_setflags(&actions.attributes,
                             POSIX_SPAWN_SETSIGDEF | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETPGROUP);
}

/// Whether it ended within so long.
bool ended(pid_t process, std::chrono::milliseconds wait) {
  const auto end = Clock::now() + wait;
  while (true) {
    const pid_t done = ::waitpid(process, nullptr, WNOHANG);
    if (done == process || (done < 0 && errno != EINTR)) return true;
    if (milliseconds_until(end) == 0) return false;
    ::poll(nullptr, 0, 5);
  }
}

void close_both(const Ends& ends) {
  for (const int end : ends) {
    if (end >= 0) ::close(end);
  }
}

}  // namespace

Result<std::string> simulator() {
  std::error_code error;
  const std::filesystem::path self = std::filesystem::read_symlink("/proc/self/exe", error);
  if (error) return Problem{"a rehearsal needs roadside-sim, and /proc does not say where this program is"};
  const std::filesystem::path here = self.parent_path();
  for (const std::filesystem::path& place :
       {here / "roadside-sim", here / "src/sim/roadside-sim", here / "../libexec/vergeset/roadside-sim"}) {
    if (::access(place.c_str(), X_OK) == 0) return place.lexically_normal().string();
  }
  return Problem{
      fmt::format("a rehearsal needs roadside-sim, which serves the twins; put it beside {}, or into {}",
                  self.string(), (here / "../libexec/vergeset").lexically_normal().string())};
}

Result<TwinUser> draw_twin_user() {
  TwinUser user{"rehearsal", Secret(random_secret()), Secret(random_secret()), nullptr};
  if (user.auth.text().empty() || user.privacy.text().empty())
    return Problem{"the system gives no random octets for the twins' secrets"};
  auto principal = snmp::usm_principal(user.name, "SHA-256", user.auth, "AES-128", user.privacy);
  if (!principal) return Problem{principal.problem()};
  user.principal = *std::move(principal);
  return user;
}

/// Empty, or why it cannot be started.
std::string ServedTwins::start(const std::string& program, const fleet::Fleet& fleet) {
  Ends words{-1, -1};
  Ends life{-1, -1};
  const auto fail = [&](int number) {
    close_both(words);
    close_both(life);
    return fmt::format("{} cannot be started: {}", program, std::strerror(number));
  };
  // A socket, since writing to one that nobody reads can be told without a signal.
  if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, life.data()) != 0) return fail(errno);
  if (::pipe2(words.data(), O_CLOEXEC) != 0) return fail(errno);
  std::vector<std::string> command{program,          "--fleet",      fleet.folder,  "--schemas",
                                   schemas_folder(), "--transition", transition_ms, "twins"};
  std::vector<char*> arguments;
  for (std::string& word : command) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  std::string libraries;
  std::vector<char*> environment;
  if (const char* const path = std::getenv(library_path); path != nullptr) {
    libraries = fmt::format("{}={}", library_path, path);
    environment.push_back(libraries.data());
  }
  environment.push_back(nullptr);
  SpawnActions actions;
  prepare(actions, life[1], words[1]);
  const int failed = ::posix_spawn(&process_, program.c_str(), &actions.files, &actions.attributes,
                                   arguments.data(), environment.data());
  if (failed != 0) {
    process_ = -1;
    return fail(failed);
  }
  ::close(life[1]);
  ::close(words[1]);
  lifeline_ = life[0];
  output_ = words[0];
  return {};
}

bool ServedTwins::tell(std::string_view text) const {
  const auto end = Clock::now() + longest_start;
  while (!text.empty()) {
    pollfd writable{lifeline_, POLLOUT, 0};
    if (::poll(&writable, 1, milliseconds_until(end)) == 0) return false;
    const ssize_t sent = ::send(lifeline_, text.data(), text.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
    if (sent < 0 && (errno == EINTR || errno == EAGAIN)) continue;
    if (sent <= 0) return false;
    text.remove_prefix(static_cast<std::size_t>(sent));
  }
  return true;
}

/// Its words until all twins answer; empty, or why they do not.
std::string ServedTwins::hear(std::size_t twins) {
  constexpr std::size_t most_words = 1 << 20;
  const auto end = Clock::now() + longest_start;
  std::string text;
  while (text.size() < most_words && text.find(" ready\n") == std::string::npos) {
    pollfd readable{output_, POLLIN, 0};
    if (::poll(&readable, 1, milliseconds_until(end)) == 0) return "the twins did not start in time";
    std::array<char, 4096> part{};
    const ssize_t size = ::read(output_, part.data(), part.size());
    if (size < 0 && errno == EINTR) continue;
    if (size <= 0) break;
    text.append(part.data(), static_cast<std::size_t>(size));
  }
  std::istringstream lines(text);
  for (std::string line; ports_.size() < twins && std::getline(lines, line);) {
    unsigned port = 0;
    if (!(std::istringstream(line) >> port) || port == 0 || port > 65535) break;
    ports_.push_back(static_cast<std::uint16_t>(port));
  }
  if (ports_.size() == twins) return {};
  while (!text.empty() && text.back() == '\n') text.pop_back();
  return text.empty() ? "roadside-sim ended without a word" : text;
}

Result<std::unique_ptr<ServedTwins>> ServedTwins::serve(const std::string& program, const fleet::Fleet& fleet,
                                                        const TwinUser& user,
                                                        const std::vector<std::string>& twins) {
  std::unique_ptr<ServedTwins> served(new ServedTwins);
  if (const std::string problem = served->start(program, fleet); !problem.empty()) return Problem{problem};
  std::string head = fmt::format(
      "{{\"twins\":{},\"user\":\"{}\",\"auth\":\"SHA-256\",\"auth-secret\":\"{}\","
      "\"privacy\":\"AES-128\",\"privacy-secret\":\"{}\"}}\n",
      twins.size(), user.name, user.auth.text(), user.privacy.text());
  bool told = served->tell(head);
  wipe(head);
  for (const std::string& twin : twins) told = told && served->tell(twin);
  // Where it took not all of it, its words say why.
  if (const std::string problem = served->hear(twins.size()); !problem.empty()) return Problem{problem};
  return served;
}

ServedTwins::~ServedTwins() {
  if (lifeline_ >= 0) ::close(lifeline_);
  if (process_ > 0 && !ended(process_, 5s)) {
    ::kill(process_, SIGTERM);
    if (!ended(process_, 2s)) {
      ::kill(process_, SIGKILL);
      ended(process_, 2s);
    }
  }
  if (output_ >= 0) ::close(output_);
}

}  // namespace vergeset::cli
