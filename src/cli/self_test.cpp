#include <arpa/inet.h>
#include <fmt/format.h>
#include <netinet/in.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cctype>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <memory>

#include "cli/child.h"
#include "cli/command.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/print.h"
#include "cli/twins.h"
#include "report/json.h"
#include "report/table.h"
#include "smi/inert.h"

namespace vergeset::cli {

namespace {

namespace fs = std::filesystem;
using namespace std::chrono_literals;

/// Whatever hangs, the test ends: nine steps of at most this.
constexpr auto longest_step = 20s;

volatile std::sig_atomic_t told_to_end = 0;

/// Ctrl-C, SIGTERM and the end of the terminal end the test after the step in hand, so that its folder goes.
void end_in_order() {
  struct sigaction action {};
  action.sa_handler = [](int) { told_to_end = 1; };
  for (const int signal : {SIGINT, SIGTERM, SIGHUP}) ::sigaction(signal, &action, nullptr);
}

struct TestStep {
  std::string name;
  bool holds = false;
  std::string what;
};

/// A folder that goes with the test.
class TestFolder {
 public:
  TestFolder() {
    std::error_code error;
    std::string path = (fs::temp_directory_path(error) / "vergeset-self-test.XXXXXX").string();
    if (!error && ::mkdtemp(path.data()) != nullptr) path_ = path;
  }
  ~TestFolder() {
    std::error_code error;
    if (!path_.empty()) fs::remove_all(path_, error);
  }
  TestFolder(const TestFolder&) = delete;
  TestFolder& operator=(const TestFolder&) = delete;

  /// Empty where none could be made.
  const std::string& path() const { return path_; }

 private:
  std::string path_;
};

/// A port of 127.0.0.1 that nobody has; 0 where there is none.
unsigned free_port() {
  const int socket = ::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  if (socket < 0) return 0;
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof address;
  auto* const any = reinterpret_cast<sockaddr*>(&address);
  const bool bound = ::bind(socket, any, size) == 0 && ::getsockname(socket, any, &size) == 0;
  ::close(socket);
  return bound ? ntohs(address.sin_port) : 0;
}

/// Gives the one unit of the first fleet another port.
bool set_port(const std::string& units_file, unsigned port) {
  constexpr std::string_view key = "port: ";
  auto text = read_file(units_file);
  const auto at = text ? text->find(key) : std::string::npos;
  if (at == std::string::npos) return false;
  std::string changed = *text;
  auto end = at + key.size();
  while (end < changed.size() && std::isdigit(static_cast<unsigned char>(changed[end])) != 0) ++end;
  changed.replace(at, end - at, fmt::format("{}{}", key, port));
  std::ofstream file(units_file, std::ios::binary | std::ios::trunc);
  file << changed;
  file.close();
  return static_cast<bool>(file);
}

std::string last_words(const std::string& text) {
  const auto end = text.find_last_not_of('\n');
  if (end == std::string::npos) return "it printed nothing";
  const auto before = text.rfind('\n', end);
  const auto begin = before == std::string::npos ? 0 : before + 1;
  return smi::inert(text.substr(begin, end + 1 - begin));
}

/// The whole way of a change, by this very program: each step is a run of it, as a person's would be.
class SelfTest {
 public:
  SelfTest(std::string folder, const TwinUser& user) : fleet_(folder + "/fleet"), folder_(std::move(folder)) {
    environment_ = {fmt::format("FIRST_AUTH={}", user.auth.text()),
                    fmt::format("FIRST_PRIV={}", user.privacy.text()), "VERGESET_LOCKS=" + folder_ + "/locks",
                    "VERGESET_SCHEMAS_DIR=" + schemas_folder()};
    if (const char* const libraries = std::getenv("LD_LIBRARY_PATH"); libraries != nullptr)
      environment_.push_back(fmt::format("LD_LIBRARY_PATH={}", libraries));
  }
  ~SelfTest() {
    for (std::string& variable : environment_) wipe(variable);
  }
  SelfTest(const SelfTest&) = delete;
  SelfTest& operator=(const SelfTest&) = delete;

  /// Stops at the first step that does not hold.
  const std::vector<TestStep>& run() {
    static_cast<void>(models() && first_fleet() && unit_answers() && differs() && brought_into_line() &&
                      agrees() && rolled_back() && as_found());
    return steps_;
  }

 private:
  bool step(const std::string& name, bool holds, const std::string& what) {
    steps_.push_back({name, holds, what});
    return holds && told_to_end == 0;
  }

  /// Runs a command on the fleet; what it printed, or why it did not end as it should.
  Result<std::string> command(std::vector<std::string> words, int expected) {
    const std::string told = "vergeset " + words.front();
    if (words.front() != "new") words.insert(words.end(), {"--fleet", fleet_});
    auto child = Child::start("/proc/self/exe", std::move(words), environment_);
    if (!child) return Problem{child.problem()};
    Child running = *std::move(child);
    if (!running.ended_within(longest_step))
      return Problem{fmt::format("{} did not end within {} s", told, longest_step.count())};
    if (running.status() == expected) return running.printed();
    return Problem{fmt::format("{} ended with {} where {} was expected: {}", told, running.status(), expected,
                               last_words(running.printed()))};
  }

  bool step(const std::string& name, const Result<std::string>& ran, const std::string& what) {
    return step(name, static_cast<bool>(ran), ran ? what : ran.problem());
  }

  bool models() {
    Faults faults;
    const schema::Schema schema = schema::load_schema(schemas_folder(), "", faults);
    const bool holds = !faults.any() && !schema.models.empty() && !schema.settings.empty();
    return step("models", holds,
                holds ? fmt::format("{} models and {} common settings in {}", schema.models.size(),
                                    schema.settings.size(), schemas_folder())
                      : "none that can be read in " + schemas_folder());
  }

  bool first_fleet() {
    const auto made = command({"new", fleet_}, Exit::done);
    if (!made) return step("first fleet", made, "");
    const unsigned port = free_port();
    if (port == 0 || !set_port(fleet_ + "/units.yaml", port))
      return step("first fleet", false, "no free UDP port on 127.0.0.1");
    // Two tries that a simulated unit does not answer, with a second between, would be most of the time.
    std::ofstream(fleet_ + "/fleet.yaml", std::ios::app) << "\nfactory-communities: []\n";
    std::error_code error;
    fs::create_directory(folder_ + "/locks", error);
    return step("first fleet", command({"check"}, Exit::done), "its files are right");
  }

  bool unit_answers() {
    const std::string name = "simulated unit";
    const auto program = simulator();
    if (!program) return step(name, false, program.problem());
    const std::string ready = folder_ + "/ready";
    auto child = Child::start(*program,
                              {"--fleet", fleet_, "--schemas", schemas_folder(), "--transition", "50",
                               "--ready", ready, "--seconds", "240"},
                              environment_);
    if (!child) return step(name, false, child.problem());
    unit_ = std::make_unique<Child>(*std::move(child));
    const auto end = std::chrono::steady_clock::now() + longest_step;
    while (!fs::exists(ready)) {
      if (unit_->ended_within(20ms))
        return step(name, false, "roadside-sim: " + last_words(unit_->printed()));
      if (std::chrono::steady_clock::now() > end)
        return step(name, false, "roadside-sim did not start in time");
    }
    return step(name, true, "served on loopback, over SNMPv3 with secrets drawn for this test");
  }

  /// What the unit differs in, as `diff` has it.
  Result<report::Json> differences() {
    const auto ran = command({"diff", "--json", "--quiet"}, Exit::drift);
    if (!ran) return Problem{ran.problem()};
    report::Json document =
        report::Json::parse(ran->substr(std::min(ran->find('{'), ran->size())), nullptr, false);
    if (document.is_discarded() || !document.contains("units") || document["units"].empty())
      return Problem{"vergeset diff --json printed no such document"};
    return document["units"][0]["differences"];
  }

  bool differs() {
    auto found = differences();
    if (!found) return step("compared", false, found.problem());
    before_ = *std::move(found);
    return step("compared", true, fmt::format("{} differences from its files", before_.size()));
  }

  bool brought_into_line() {
    const auto ran = command({"apply", "--yes", "--quiet", "--why", "self-test"}, Exit::done);
    return step("brought into line", ran, "set, and verified by reading anew");
  }

  bool agrees() {
    return step("audited", command({"audit", "--quiet"}, Exit::done), "it agrees with its files");
  }

  bool rolled_back() {
    const auto ran = command({"rollback", "1", "--yes", "--quiet", "--why", "self-test"}, Exit::done);
    return step("rolled back", ran, "by the change's snapshot");
  }

  bool as_found() {
    const auto found = differences();
    if (!found) return step("as found", false, found.problem());
    const bool same = *found == before_;
    return step("as found", same,
                same ? "the same differences as at first" : "other differences than at first");
  }

  std::string fleet_;
  std::string folder_;
  std::vector<std::string> environment_;
  std::vector<TestStep> steps_;
  std::unique_ptr<Child> unit_;
  report::Json before_;
};

void tell(const std::vector<TestStep>& steps, bool as_json) {
  if (as_json) {
    report::Json document = report::document("self-test");
    document["steps"] = report::Json::array();
    for (const TestStep& step : steps)
      document["steps"].push_back({{"step", step.name}, {"holds", step.holds}, {"what", step.what}});
    return print(report::dump(document));
  }
  report::Table table;
  for (const TestStep& step : steps) table.add({step.name, step.holds ? "holds" : "fails", step.what});
  print(table.text(screen_here()));
  print(steps.back().holds ? "This vergeset works.\n" : "This vergeset does not work as it is installed.\n");
}

int self_test(bool as_json) {
  const TestFolder folder;
  if (folder.path().empty())
    return complain("no temporary folder can be made; name a place for it with TMPDIR=DIR");
  const auto user = draw_twin_user();
  if (!user) return complain(user.problem());
  end_in_order();
  SelfTest test(folder.path(), *user);
  const std::vector<TestStep>& steps = test.run();
  if (told_to_end != 0) {
    complain("the self-test was ended before it was through");
    return Exit::interrupted;
  }
  tell(steps, as_json);
  return steps.back().holds ? Exit::done : Exit::internal;
}

}  // namespace

Command self_test_command() {
  const auto as_json = std::make_shared<bool>(false);
  return {"self-test",
          "Tells whether this installation works, on a unit of its own.",
          {{"", {{"--json", "", "one JSON document instead of text", as_json.get()}}}},
          "vergeset self-test",
          [as_json] { return self_test(*as_json); }};
}

}  // namespace vergeset::cli
