#include "sim/agent_process.h"

#include <fmt/format.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>

#include "sim/access_tables.h"
#include "sim/agent_access.h"
#include "sim/agent_control.h"
#include "sim/control.h"
#include "sim/state_file.h"

namespace vergeset::sim {

namespace {

std::string kept_path(const ServeOptions& options, const std::string& unit) {
  return options.keep + "/" + unit + ".state";
}

std::string users_path(const ServeOptions& options, const std::string& unit) {
  return options.keep + "/" + unit + ".users";
}

/// Users and access as they were kept; nothing where they were not.
Result<std::optional<AccessTables>> kept_access(const ServeOptions& options, const std::string& unit,
                                                const std::string& engine_id) {
  const std::string path = options.keep.empty() ? std::string() : users_path(options, unit);
  if (path.empty() || ::access(path.c_str(), F_OK) != 0) return std::optional<AccessTables>();
  const auto text = read_file(path);
  if (!text) return Problem{text.problem()};
  auto tables = access_of_text(*text);
  if (!tables) return Problem{path + ": " + tables.problem()};
  const auto ours = [&](const AccessTables::User& user) { return user.engine_id == engine_id; };
  if (std::none_of(tables->users.begin(), tables->users.end(), ours))
    return Problem{path +
                   ": its keys are of another engine id; remove it, and the unit knows whom it should"};
  return std::optional<AccessTables>(*std::move(tables));
}

/// One unit in its process: the agent, the control socket, and the time between.
class Process {
 public:
  Process(SimUnit unit, const std::string& name, const ServeOptions& options)
      : unit_(std::move(unit)), name_(name), options_(options) {}

  Result<bool> open(const UnitStart& start, const std::vector<AgentUser>& users);
  /// Where it is bound, by the system's word: a twin leaves the choice to it.
  std::uint16_t port() const;
  [[noreturn]] void run();

 private:
  Result<bool> keep() const;
  Result<bool> keep_users() const;
  void say(const Result<bool>& written) const;
  void start_anew(const SimUnit::Reboot& how);
  void step();
  int wait_ms(std::int64_t now) const;

  SimUnit unit_;
  std::string name_;
  std::string host_;
  const ServeOptions& options_;
  int agent_ = -1;
  int control_ = -1;
  AccessTables users_at_start_;
  std::optional<SimUnit::Reboot> rebooting_;
  std::int64_t back_at_ = 0;
};

Result<bool> Process::keep() const {
  if (options_.keep.empty()) return true;
  return write_whole(kept_path(options_, name_), state_text(unit_.store, unit_.boots));
}

/// As they will be after the next reboot: the localized keys of RFC 3414 2.6, for the owner's eyes.
Result<bool> Process::keep_users() const {
  if (options_.keep.empty()) return true;
  const AccessTables tables = unit_.trouble.forget_users > 0 ? users_at_start_ : lasting(access_tables());
  return write_whole(users_path(options_, name_), access_text(tables), Readers::owner);
}

void Process::say(const Result<bool>& written) const {
  if (!written) fmt::print(stderr, "roadside-sim: {}: {}\n", name_, written.problem());
}

Result<bool> Process::open(const UnitStart& start, const std::vector<AgentUser>& users) {
  AgentSetup setup;
  setup.unit = &unit_;
  setup.engine_id = engine_id_of(start.name);
  setup.users = users;
  setup.host = host_ = start.host;
  setup.port = start.port;
  setup.delay_ms = options_.delay_ms;
  setup.loss = Loss(options_.loss_percent, options_.seed, start.name);
  setup.now = now_ms;
  setup.changed = [this] { say(keep()); };
  setup.access_changed = [this] { say(keep_users()); };
  if (!start.engine_id.empty()) {
    const auto octets = smi::from_hex(start.engine_id);
    if (!octets) return Problem{"engine-id: " + octets.problem()};
    setup.engine_id = *octets;
  }
  auto kept = kept_access(options_, name_, setup.engine_id);
  if (!kept) return Problem{kept.problem()};
  setup.access = *std::move(kept);
  const auto agent = start_agent(std::move(setup));
  if (!agent) return Problem{agent.problem()};
  agent_ = *agent;
  users_at_start_ = access_tables();
  if (const auto written = keep(); !written) return Problem{written.problem()};
  if (const auto written = keep_users(); !written) return Problem{written.problem()};
  if (!options_.control.empty()) {
    const auto control = listen_control(control_path(options_.control, name_));
    if (!control) return Problem{control.problem()};
    control_ = *control;
  }
  return true;
}

std::uint16_t Process::port() const {
  sockaddr_storage bound{};
  socklen_t size = sizeof bound;
  if (agent_ < 0 || ::getsockname(agent_, reinterpret_cast<sockaddr*>(&bound), &size) != 0) return 0;
  return ntohs(bound.ss_family == AF_INET6 ? reinterpret_cast<const sockaddr_in6&>(bound).sin6_port
                                           : reinterpret_cast<const sockaddr_in&>(bound).sin_port);
}

int Process::wait_ms(std::int64_t now) const {
  std::int64_t due = next_answer_due();
  if (rebooting_) due = due < 0 ? back_at_ : std::min(due, back_at_);
  return due < 0 ? -1 : static_cast<int>(std::clamp<std::int64_t>(due - now, 0, 60000));
}

void Process::start_anew(const SimUnit::Reboot& how) {
  unit_.reboot(how, now_ms());
  users_at_start_ = how.forgets_access ? users_at_start_ : lasting(access_tables());
  put_access_tables(users_at_start_);
  restart_engine();
  say(keep());
  say(keep_users());
}

void Process::step() {
  std::array<pollfd, 2> sockets{{{agent_, POLLIN, 0}, {control_, POLLIN, 0}}};
  ::poll(sockets.data(), sockets.size(), wait_ms(now_ms()));
  if (rebooting_ && now_ms() >= back_at_) {
    start_anew(*rebooting_);
    rebooting_.reset();
  }
  if ((sockets[0].revents & POLLIN) != 0) rebooting_ || options_.dead ? discard_datagram() : serve_datagram();
  if ((sockets[1].revents & POLLIN) != 0)
    serve_control(control_, [&](const std::string& line) {
      std::string answer = obey(unit_, line, now_ms());
      if (line.find("set") != std::string::npos) say(keep());
      return answer;
    });
  send_due_answers();
  if (const auto saying = unit_.take_saying(); saying && !rebooting_ && !options_.dead)
    say(send_trap(host_, *saying));
  if (const auto asked = unit_.take_reboot(); asked && !rebooting_) {
    rebooting_ = asked;
    back_at_ = now_ms() + options_.reboot_ms;
    forget_answers();
  }
}

void Process::run() {
  while (true) step();
}

}  // namespace

std::int64_t now_ms() {
  using namespace std::chrono;
  static const auto began = steady_clock::now();
  static const auto at = duration_cast<milliseconds>(system_clock::now().time_since_epoch()).count();
  return at + duration_cast<milliseconds>(steady_clock::now() - began).count();
}

Result<SimUnit> start_unit(const UnitStart& start, const schema::Model& model, const ServeOptions& options,
                           std::int64_t now) {
  auto started = start.store(model, options.transition_ms, now);
  if (!started) return Problem{started.problem()};
  Store store = *std::move(started);
  std::uint32_t boots = 0;
  const std::string kept = options.keep.empty() ? std::string() : kept_path(options, start.name);
  const bool again = !kept.empty() && ::access(kept.c_str(), F_OK) == 0;
  if (again || (options.state != "factory" && options.state != "desired")) {
    const std::string path = again ? kept : options.state;
    const auto text = read_file(path);
    if (!text) return Problem{text.problem()};
    const auto loaded = load_state(store, *text, now);
    if (!loaded) return Problem{path + ": " + loaded.problem()};
    if (again) boots = *loaded;
  }
  SimUnit made(std::move(store));
  made.boots = boots + 1;
  if (start.refuse_after) made.trouble.refusals.push_back({"", Status::gen_err, 1, *start.refuse_after});
  return made;
}

void serve_unit(const UnitStart& start, const schema::Model& model, const std::vector<AgentUser>& users,
                const ServeOptions& options,
                const std::function<void(const std::string&, std::uint16_t)>& ready) {
  auto made = start_unit(start, model, options, now_ms());
  if (!made) {
    ready(made.problem(), 0);
    return;
  }
  Process process(*std::move(made), start.name, options);
  const auto opened = process.open(start, users);
  ready(opened ? std::string() : opened.problem(), process.port());
  if (opened) process.run();
}

}  // namespace vergeset::sim
