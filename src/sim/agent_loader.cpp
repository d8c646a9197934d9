#include "sim/agent_loader.h"

#include <fmt/format.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <iostream>

#include "fleet/fleet.h"
#include "fleet/secret_source.h"
#include "sim/dead.h"
#include "sim/octets.h"
#include "sim/twin_text.h"
#include "sim/unit_start.h"
#include "smi/suggest.h"

namespace vergeset::sim {

namespace {

constexpr int usage_error = 2;

int fail(int status, const std::string& text) {
  fmt::print(stderr, "roadside-sim: {}\n", text);
  return status;
}

Result<AgentUser> user_of(const fleet::Credential& credential, const std::string& folder) {
  if (credential.kind != fleet::Credential::Kind::user)
    return Problem{"is no user of SNMPv3, and simulated units know no others; name one with --credential"};
  if (credential.stored)
    return Problem{"its keys are vergeset's to make; name what units know before that with --credential"};
  Secret auth;
  if (credential.auth != "none") {
    auto read = fleet::read_secret(credential.auth_secret, folder);
    if (!read) return Problem{"auth-secret: " + read.problem()};
    auth = *std::move(read);
  }
  Secret privacy;
  if (credential.privacy != "none") {
    auto read = fleet::read_secret(credential.privacy_secret, folder);
    if (!read) return Problem{"privacy-secret: " + read.problem()};
    privacy = *std::move(read);
  }
  return make_user(credential.user, credential.auth, auth.text(), credential.privacy, privacy.text());
}

/// The credentials that the units name, or those that they are told to know instead.
Result<std::set<std::string>> credentials_wanted(const fleet::Fleet& fleet,
                                                 const std::vector<const fleet::Unit*>& units,
                                                 const std::vector<std::string>& known) {
  std::set<std::string> wanted(known.begin(), known.end());
  for (const std::string& name : known)
    if (!fleet.credentials.contains(name)) {
      std::vector<std::string> names;
      for (const auto& [one, credential] : fleet.credentials) names.push_back(one);
      return Problem{fmt::format("--credential {}: fleet.yaml has no such credential{}", name,
                                 smi::suggestion(name, names))};
    }
  if (!known.empty()) return wanted;
  for (const fleet::Unit* unit : units) {
    if (!fleet.credentials.contains(unit->credential))
      return Problem{fmt::format("{}: has no credential", unit->name)};
    wanted.insert(unit->credential);
  }
  return wanted;
}

Result<std::map<std::string, AgentUser>> users_of(const fleet::Fleet& fleet,
                                                  const std::set<std::string>& wanted) {
  std::map<std::string, AgentUser> users;
  for (const std::string& name : wanted) {
    const auto user = user_of(fleet.credentials.at(name), fleet.folder);
    if (!user) return Problem{fmt::format("credential {}: {}", name, user.problem())};
    users.emplace(name, *user);
  }
  return users;
}

std::string pack_roll(const Roll& roll) {
  OctetWriter writer;
  writer.put(roll.users.size());
  for (const auto& [credential, user] : roll.users) {
    for (const std::string* text : {&credential, &user.name, &user.auth_key, &user.privacy_key})
      writer.put_text(*text);
    writer.put(user.auth_type);
    writer.put(user.privacy_type);
  }
  writer.put(roll.known.size());
  for (const std::string& credential : roll.known) writer.put_text(credential);
  writer.put(roll.units.size());
  for (const std::string& unit : roll.units) {
    writer.put_text(unit);
    writer.put(roll.dead.contains(unit));
  }
  return std::move(writer.octets);
}

Roll unpack_roll(std::string_view octets) {
  OctetReader reader(octets);
  Roll roll;
  for (auto left = reader.take<std::size_t>(); left > 0; --left) {
    const std::string credential = reader.take_text();
    AgentUser& user = roll.users[credential];
    for (std::string* text : {&user.name, &user.auth_key, &user.privacy_key}) *text = reader.take_text();
    user.auth_type = reader.take<int>();
    user.privacy_type = reader.take<int>();
  }
  for (auto left = reader.take<std::size_t>(); left > 0; --left) roll.known.push_back(reader.take_text());
  for (auto left = reader.take<std::size_t>(); left > 0; --left) {
    roll.units.push_back(reader.take_text());
    if (reader.take<bool>()) roll.dead.insert(roll.units.back());
  }
  return roll;
}

bool write_all(int pipe, std::string_view octets) {
  while (!octets.empty()) {
    const ssize_t written = ::write(pipe, octets.data(), octets.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return false;
    octets.remove_prefix(static_cast<std::size_t>(written));
  }
  return true;
}

bool read_all(int pipe, char* octets, std::size_t size) {
  while (size > 0) {
    const ssize_t read = ::read(pipe, octets, size);
    if (read < 0 && errno == EINTR) continue;
    if (read <= 0) return false;
    octets += read;
    size -= static_cast<std::size_t>(read);
  }
  return true;
}

bool send(int pipe, std::string_view octets) {
  OctetWriter whole;
  whole.put_text(octets);
  return write_all(pipe, whole.octets);
}

/// The whole life of the process; the result is its exit status.
int load(const LoadOptions& options, int pipe) {
  Faults faults;
  const fleet::Fleet fleet = fleet::load_fleet(options.fleet, options.schemas, faults);
  if (faults.any()) {
    for (const Fault& fault : faults.sorted()) fmt::print(stderr, "{}\n", fault.str());
    return usage_error;
  }
  fleet::hold_secret_variables(fleet);
  fleet::Choice choice;
  choice.names = options.units;
  const auto units = fleet::choose(fleet, choice);
  if (!units) return fail(usage_error, units.problem());
  if (units->empty()) return fail(usage_error, options.fleet + " has no units");
  Roll roll;
  for (const fleet::Unit* unit : *units) roll.units.push_back(unit->name);
  const auto dead = dead_units(options.dead, roll.units);
  if (!dead) return fail(usage_error, "--dead " + dead.problem());
  roll.dead = *dead;
  const auto wanted = credentials_wanted(fleet, *units, options.credentials);
  if (!wanted) return fail(usage_error, wanted.problem());
  auto users = users_of(fleet, *wanted);
  if (!users) return fail(usage_error, users.problem());
  roll.known = options.credentials;
  roll.users = *std::move(users);
  if (!send(pipe, pack_roll(roll))) return 1;
  for (const fleet::Unit* unit : *units)
    if (!send(pipe, pack(start_of(*unit, options.desired)))) return 1;
  return 0;
}

/// The same of twins. What standard input holds behind them is not taken: it stays open as long as whoever
/// wants the twins lives.
int load_twins(int pipe) {
  auto told = read_twin_user(std::cin);
  if (!told) return fail(usage_error, "twins: " + told.problem());
  TwinUser head = *std::move(told);
  auto user = make_user(head.user, head.auth, head.auth_secret, head.privacy, head.privacy_secret);
  for (std::string* secret : {&head.auth_secret, &head.privacy_secret})
    explicit_bzero(secret->data(), secret->size());
  if (!user) return fail(usage_error, "twins: " + user.problem());
  const auto twins = read_twins(std::cin, head.twins);
  if (!twins) return fail(usage_error, "twins: " + twins.problem());
  Roll roll;
  roll.users.emplace(twin_credential, *std::move(user));
  for (const UnitStart& twin : *twins) roll.units.push_back(twin.name);
  if (!send(pipe, pack_roll(roll))) return 1;
  for (const UnitStart& twin : *twins)
    if (!send(pipe, pack(twin))) return 1;
  return 0;
}

std::optional<std::string> receive(int pipe) {
  std::size_t size = 0;
  if (!read_all(pipe, reinterpret_cast<char*>(&size), sizeof size)) return std::nullopt;
  std::string octets(size, '\0');
  if (!read_all(pipe, octets.data(), size)) return std::nullopt;
  return octets;
}

}  // namespace

std::vector<AgentUser> users_known(const Roll& roll, const std::string& credential) {
  if (roll.known.empty()) return {roll.users.at(credential)};
  std::vector<AgentUser> users;
  for (const std::string& known : roll.known) users.push_back(roll.users.at(known));
  return users;
}

Loader::Loader(const LoadOptions& options) {
  std::array<int, 2> ends{-1, -1};
  if (::pipe(ends.data()) != 0) {
    fail(1, fmt::format("cannot make a pipe: {}", std::strerror(errno)));
    return;
  }
  const pid_t parent = ::getpid();
  process_ = ::fork();
  if (process_ == 0) {
    prctl(PR_SET_PDEATHSIG, SIGTERM);
    if (::getppid() != parent) ::_exit(1);
    ::close(ends[0]);
    std::signal(SIGPIPE, SIG_IGN);
    // Not to destroy what is only to be forgotten: half a second for 10,000 units.
    ::_exit(options.twins ? load_twins(ends[1]) : load(options, ends[1]));
  }
  if (process_ < 0) fail(1, fmt::format("cannot fork: {}", std::strerror(errno)));
  ::close(ends[1]);
  pipe_ = ends[0];
}

Loader::~Loader() {
  close_pipe();
  status();
}

std::optional<Roll> Loader::roll() {
  const auto octets = receive(pipe_);
  if (!octets) return std::nullopt;
  return unpack_roll(*octets);
}

std::optional<std::string> Loader::next() {
  return receive(pipe_);
}

void Loader::close_pipe() {
  if (pipe_ >= 0) ::close(pipe_);
  pipe_ = -1;
}

int Loader::status() {
  if (process_ <= 0) return 1;
  int status = 0;
  const pid_t ended = ::waitpid(process_, &status, 0);
  process_ = -1;
  return ended > 0 && WIFEXITED(status) ? WEXITSTATUS(status) : 1;
}

}  // namespace vergeset::sim
