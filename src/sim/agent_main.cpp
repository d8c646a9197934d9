#include <fmt/format.h>
#include <sys/prctl.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstring>
#include <filesystem>
#include <future>

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
  // On a thread, so that malloc keeps the holes that loading leaves in an arena of their own: a unit
  // that filled them after the fork would have a copy of each page around one (1.0 MB instead of 0.4).
  const fleet::Fleet fleet =
      std::async(std::launch::async, fleet::load_fleet, options.fleet, options.schemas, std::ref(faults))
          .get();
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

constexpr const char* tell_words =
    R"(Then UNIT and WORDS, of which OBJECT is rsuID, or of a row rsuMsgRepeatPsid.3:
  counters | reset counters  requests so far
  drop N                     the next N requests get no answer
  drop-response N            the next N SETs are carried out and not answered
  delay MS                   each answer comes that much later
  refuse [OBJECT] STATUS N   the next N SETs (that hold OBJECT) are refused
  ignore [OBJECT] N          the next N SETs are acknowledged, not carried out
  clip OBJECT VALUE          whatever is written there is stored as VALUE
  stuck standby|fault N      the next N SETs of operate end there
  reboot [lose]              silent for a while; lose: as at the last start
  set OBJECT VALUE           a local hand, past access and standby
  get OBJECT | state         one value, or every value
  clear                      no more faults
Example: roadside-sim tell --control /tmp/c RSU-1 refuse rsuID wrongValue 1)";

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"Serves the units of a fleet as simulated roadside units, one process each."};
  app.set_version_flag("--version", VERGESET_VERSION, "print the version and exit");
  app.set_help_flag("-h,--help", "print this and exit");
  app.get_formatter()->column_width(20);
  Options options;
  options.schemas = default_schemas();
  auto& serving = options.family.serve;
  const auto option = [&](const char* name, auto& value, const char* shown, const char* about) {
    return app.add_option(name, value, about)->option_text(shown);
  };
  option("--fleet", options.fleet, "DIR", "folder of the fleet");
  option("--schemas", options.schemas, "DIR", "folder of the models");
  option("--units", options.units, "NAMES", "only these: names or patterns, with commas between")
      ->delimiter(',');
  option("--state", serving.state, "STATE", "factory (where left out), desired, or a state file");
  option("--keep", serving.keep, "DIR", "folder where each unit's state survives a restart");
  option("--control", serving.control, "DIR", "folder of the units' control sockets, for tell");
  option("--transition", serving.transition_ms, "MS", "time between standby and operate (1500)")
      ->check(CLI::Range(0, 3600000));
  option("--reboot-time", serving.reboot_ms, "MS", "how long a rebooting unit is silent (2000)")
      ->check(CLI::Range(0, 3600000));
  option("--ready", options.family.ready, "FILE", "file to write when every unit answers");
  option("--seconds", options.family.seconds, "N", "ends by itself after so long")
      ->check(CLI::Range(1, 1000000));
  app.add_flag("--stay", options.stay, "does not end with the process that started it");
  app.footer("Example: roadside-sim --fleet inventories/first --control /tmp/c --seconds 600");

  CLI::App* telling = app.add_subcommand("tell", "says one thing to a unit, and prints what it answers");
  std::string control;
  telling->add_option("--control", control, "folder of the control sockets")->option_text("DIR")->required();
  telling->footer(tell_words);
  telling->prefix_command();

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : usage_error;
  }
  return telling->parsed() ? tell(control, telling->remaining()) : serve(options);
}
