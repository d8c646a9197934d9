#include <fmt/format.h>
#include <sys/prctl.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <csignal>
#include <filesystem>
#include <future>

#include "schema/installed.h"
#include "sim/agent_family.h"
#include "sim/agent_library.h"
#include "sim/agent_loader.h"
#include "sim/agent_tell.h"

namespace {

using namespace vergeset;

struct Options {
  sim::LoadOptions load;
  sim::FamilyOptions family;
  bool stay = false;
};

constexpr int usage_error = 2;

int fail(int status, const std::string& text) {
  fmt::print(stderr, "roadside-sim: {}\n", text);
  return status;
}

std::string default_schemas() {
  return schema::models_folder({VERGESET_SCHEMAS_BESIDE, VERGESET_SCHEMAS, VERGESET_SOURCE_SCHEMAS});
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

/// The models, as fleet::load_fleet has them. On a thread, so that malloc keeps the holes that reading
/// leaves in an arena of their own: a unit that filled them after the fork would have a copy of each page
/// around one. Faults are the loader's to tell, who reads the same files.
schema::Schema read_models(const sim::LoadOptions& options) {
  const std::string own = options.fleet.empty() ? std::string() : options.fleet + "/models";
  Faults told_elsewhere;
  return std::async(std::launch::async, schema::load_schema, options.schemas,
                    std::filesystem::is_directory(own) ? own : "", std::ref(told_elsewhere))
      .get();
}

int serve(Options options) {
  if (options.load.fleet.empty() && !options.load.twins)
    return fail(usage_error, "--fleet DIR is needed; see --help");
  const pid_t starter = getppid();
  if (!options.stay) {
    prctl(PR_SET_PDEATHSIG, SIGTERM);
    if (getppid() != starter) return 0;
  }
  sim::start_library();
  if (options.load.twins) {
    options.family.lifeline = STDIN_FILENO;
    options.family.ports = true;
  }
  sim::LoadOptions load = options.load;
  load.desired = options.family.serve.state == "desired";
  sim::Loader loader(load);
  const schema::Schema schema = read_models(load);
  const auto roll = loader.roll();
  if (!roll) return std::max(1, loader.status());
  if (const auto made = make_folders(options.family.serve); !made) return fail(1, made.problem());
  return sim::serve_family(loader, *roll, schema, options.family);
}

int tell(const std::string& control, const std::vector<std::string>& words) {
  if (words.size() < 2) return fail(usage_error, "tell takes UNIT WORDS...; see roadside-sim tell --help");
  std::string line;
  for (std::size_t i = 1; i < words.size(); ++i) line += (i > 1 ? " " : "") + words[i];
  return sim::tell_units(control, words[0], line);
}

constexpr const char* tell_words =
    R"(Then UNIT, or names and patterns ('LK-1*,LK-201': each is told), and WORDS;
OBJECT is rsuID, of a row rsuMsgRepeatPsid.3, or usmUserTable and its like:
  counters | reset counters  requests and traffic so far; of many units the sum
  drop N                     the next N requests get no answer
  drop-response N            the next N SETs are carried out and not answered
  delay MS                   each answer comes that much later, beside --delay
  refuse [OBJECT] STATUS N   the next N SETs (that hold OBJECT) are refused
  ignore [OBJECT] N          the next N SETs are acknowledged, not carried out
  clip OBJECT VALUE          whatever is written there is stored as VALUE
  stuck standby|fault N      the next N SETs of operate end there
  reboot [lose]              silent for a while; lose: as at the last start
  forget-users N             so are users, keys and access after N more reboots
  notify NAME [HOST:PORT]    a trap (coldStart) to where settings say, or there
  set OBJECT VALUE           a local hand, past access and standby
  get OBJECT | state         one value, or every value
  clear                      no more of these; --delay, --loss and --dead stay
Example: roadside-sim tell --control /tmp/c RSU-1 refuse rsuID wrongValue 1)";

/// An option a line, with what it does behind a tab; behind an empty line what units can be told.
int list_options(const CLI::App& app) {
  for (const CLI::Option* option : app.get_options()) {
    const std::string& value = option->get_option_text();
    fmt::print("{}{}{}\t{}\n", option->get_name(), value.empty() ? "" : " ", value,
               option->get_description());
  }
  fmt::print("\n{}\n", tell_words);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"Serves the units of a fleet as simulated roadside units, one process each."};
  app.set_version_flag("--version", VERGESET_VERSION, "print the version and exit");
  app.set_help_flag("-h,--help", "print this and exit");
  app.get_formatter()->column_width(22);
  Options options;
  options.load.schemas = default_schemas();
  auto& serving = options.family.serve;
  const auto option = [&](const char* name, auto& value, const char* shown, const char* about) {
    return app.add_option(name, value, about)->option_text(shown);
  };
  option("--fleet", options.load.fleet, "DIR", "folder of the fleet");
  option("--schemas", options.load.schemas, "DIR", "folder of the models");
  option("--units", options.load.units, "NAMES", "only these: names or patterns, with commas between")
      ->delimiter(',');
  option("--credential", options.load.credentials, "NAMES", "whom the units know, in place of their own")
      ->delimiter(',');
  option("--state", serving.state, "STATE", "factory (where left out), desired, or a state file");
  option("--keep", serving.keep, "DIR", "folder where each unit's state and users survive");
  option("--control", serving.control, "DIR", "folder of the units' control sockets, for tell");
  option("--transition", serving.transition_ms, "MS", "time between standby and operate (1500)")
      ->check(CLI::Range(0, 3600000));
  option("--reboot-time", serving.reboot_ms, "MS", "how long a rebooting unit is silent (2000)")
      ->check(CLI::Range(0, 3600000));
  option("--delay", serving.delay_ms, "MS", "each answer of every unit comes that much later")
      ->check(CLI::Range(0, 3600000));
  option("--loss", serving.loss_percent, "PERCENT", "of requests, and of answers, that are lost: 0 to 90")
      ->check(CLI::Range(0.0, 90.0));
  option("--seed", serving.seed, "N", "what --loss takes depends on it and the unit's name (1)")
      ->check(CLI::Range(0, 2147483647));
  option("--dead", options.load.dead, "UNITS", "never answer: a number, a share as 5%, or NAMES");
  option("--ready", options.family.ready, "FILE", "file to write when every unit answers");
  option("--seconds", options.family.seconds, "N", "ends by itself after so long")
      ->check(CLI::Range(1, 1000000));
  app.add_flag("--stay", options.stay, "does not end with the process that started it");
  app.footer("Also: roadside-sim tell --help. Example: roadside-sim --fleet inventories/first");

  CLI::App* telling = app.add_subcommand("tell", "says one thing to units, and prints what they answer");
  telling->group("");  // the footer names it, in one line
  std::string control;
  telling->add_option("--control", control, "folder of the control sockets")->option_text("DIR")->required();
  telling->footer(tell_words);
  telling->prefix_command();

  // For vergeset's rehearsals, and nothing to type: twin_text.h.
  const CLI::App* twins =
      app.add_subcommand("twins", "serves the twins that standard input describes")->group("");

  // For the manual, which is made from it: cli/pages.h.
  const CLI::App* listing = app.add_subcommand("options", "lists the options")->group("");

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : usage_error;
  }
  if (listing->parsed()) return list_options(app);
  options.load.twins = twins->parsed();
  return telling->parsed() ? tell(control, telling->remaining()) : serve(options);
}
