#include <fmt/format.h>
#include <sys/prctl.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstring>
#include <filesystem>

#include "fleet/fleet.h"
#include "fleet/secret_source.h"
#include "sim/agent_control.h"
#include "sim/agent_family.h"
#include "sim/agent_library.h"

namespace {

using namespace vergeset;

struct Options {
  std::string fleet;
  std::string schemas;
  std::vector<std::string> units;
  sim::FamilyOptions family;
  bool stay = false;
};

constexpr int usage_error = 2;

int fail(int status, const std::string& text) {
  fmt::print(stderr, "roadside-sim: {}\n", text);
  return status;
}

std::string default_schemas() {
  return std::filesystem::is_directory(VERGESET_SCHEMAS) ? VERGESET_SCHEMAS : VERGESET_SOURCE_SCHEMAS;
}

Result<sim::AgentUser> user_of(const fleet::Credential& credential, const std::string& folder) {
  auto auth = fleet::read_secret(credential.auth_secret, folder);
  if (!auth) return Problem{"auth-secret: " + auth.problem()};
  std::string auth_secret = *std::move(auth);
  auto privacy = fleet::read_secret(credential.privacy_secret, folder);
  if (!privacy) return Problem{"privacy-secret: " + privacy.problem()};
  std::string privacy_secret = *std::move(privacy);
  auto user =
      sim::make_user(credential.user, credential.auth, auth_secret, credential.privacy, privacy_secret);
  explicit_bzero(auth_secret.data(), auth_secret.size());
  explicit_bzero(privacy_secret.data(), privacy_secret.size());
  return user;
}

/// The user of each credential that the units name.
Result<std::map<std::string, sim::AgentUser>> users_of(const fleet::Fleet& fleet,
                                                       const std::vector<const fleet::Unit*>& units) {
  std::map<std::string, sim::AgentUser> users;
  for (const fleet::Unit* unit : units) {
    if (users.contains(unit->credential)) continue;
    const auto credential = fleet.credentials.find(unit->credential);
    if (credential == fleet.credentials.end())
      return Problem{fmt::format("{}: has no credential", unit->name)};
    const auto user = user_of(credential->second, fleet.folder);
    if (!user) return Problem{fmt::format("credential {}: {}", unit->credential, user.problem())};
    users.emplace(unit->credential, *user);
  }
  return users;
}

/// Makes the folders that are written to; the problem names the one that cannot be.
Result<bool> make_folders(const sim::ServeOptions& options) {
  for (const std::string& folder : {options.keep, options.control}) {
    if (folder.empty()) continue;
    std::error_code error;
    std::filesystem::create_directories(folder, error);
    if (error) return Problem{fmt::format("cannot make {}: {}", folder, error.message())};
  }
  return true;
}

int serve(const Options& options) {
  if (options.fleet.empty()) return fail(usage_error, "--fleet DIR is needed; see --help");
  const pid_t starter = getppid();
  if (!options.stay) {
    prctl(PR_SET_PDEATHSIG, SIGTERM);
    if (getppid() != starter) return 0;
  }
  sim::start_library();
  Faults faults;
  const fleet::Fleet fleet = fleet::load_fleet(options.fleet, options.schemas, faults);
  if (faults.any()) {
    for (const Fault& fault : faults.sorted()) fmt::print(stderr, "{}\n", fault.str());
    return usage_error;
  }
  fleet::Choice choice;
  choice.names = options.units;
  const auto units = fleet::choose(fleet, choice);
  if (!units) return fail(usage_error, units.problem());
  if (units->empty()) return fail(usage_error, options.fleet + " has no units");
  const auto users = users_of(fleet, *units);
  if (!users) return fail(usage_error, users.problem());
  if (const auto made = make_folders(options.family.serve); !made) return fail(1, made.problem());
  return sim::serve_family(*units, *users, options.family);
}

int tell(const std::string& control, const std::vector<std::string>& words) {
  if (words.size() < 2) return fail(usage_error, "tell takes UNIT WORDS...; see roadside-sim tell --help");
  std::string line;
  for (std::size_t i = 1; i < words.size(); ++i) line += (i > 1 ? " " : "") + words[i];
  const auto answer = sim::tell(sim::control_path(control, words[0]), line);
  if (!answer) return fail(1, answer.problem());
  const bool refused = answer->starts_with("error: ");
  fmt::print(refused ? stderr : stdout, "{}", *answer);
  return refused ? 1 : 0;
}

constexpr const char* tell_help = R"(Says one thing to a unit, and prints what it answers:
  counters | reset counters     requests so far
  drop N                        the next N requests get no answer
  drop-response N               the next N SETs are carried out and not answered
  delay MS                      each answer comes that much later
  refuse [OBJECT] STATUS N      the next N SETs (that hold OBJECT) are refused
  ignore [OBJECT] N             the next N SETs are acknowledged and not carried out
  clip OBJECT VALUE             whatever is written there is stored as VALUE
  stuck standby|fault N         the next N SETs of operate end there
  reboot [lose]                 silent for a while; lose: forgets what was SET since the start
  set OBJECT VALUE | get OBJECT a local hand
  state                         every value
  clear                         no more faults
OBJECT is rsuID, or of a row rsuMsgRepeatPsid.3)";

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"Serves the units of a fleet as simulated roadside units, one process each."};
  app.set_version_flag("--version", VERGESET_VERSION);
  Options options;
  options.schemas = default_schemas();
  auto& serving = options.family.serve;
  app.add_option("--fleet", options.fleet, "folder of the fleet");
  app.add_option("--schemas", options.schemas, "folder of the models")->capture_default_str();
  app.add_option("--units", options.units, "only these: names or patterns, with commas between")
      ->delimiter(',');
  app.add_option("--state", serving.state, "factory, desired, or a state file")->capture_default_str();
  app.add_option("--keep", serving.keep, "folder where each unit's state survives a restart");
  app.add_option("--control", serving.control, "folder of the units' control sockets, for tell");
  app.add_option("--transition", serving.transition_ms, "ms between standby and operate")
      ->capture_default_str()
      ->check(CLI::Range(0, 3600000));
  app.add_option("--reboot-time", serving.reboot_ms, "ms that a rebooting unit is silent")
      ->capture_default_str()
      ->check(CLI::Range(0, 3600000));
  app.add_option("--ready", options.family.ready, "file to write when every unit answers");
  app.add_option("--seconds", options.family.seconds, "ends by itself after this long")
      ->check(CLI::Range(1, 1000000));
  app.add_flag("--stay", options.stay, "does not end with the process that started it");

  CLI::App* telling = app.add_subcommand("tell", tell_help);
  std::string control;
  telling->add_option("--control", control, "folder of the control sockets")->required();
  telling->prefix_command();

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : usage_error;
  }
  return telling->parsed() ? tell(control, telling->remaining()) : serve(options);
}
