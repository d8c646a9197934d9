#include "fleet/secret_source.h"

#include <sys/stat.h>

#include <cstdlib>

#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;
using namespace std::chrono_literals;
using Kind = SecretSource::Kind;

namespace {

SecretSource source(Kind kind, const std::string& where) {
  return {kind, where, {"fleet.yaml", 3, 9}};
}

std::string secret_of(const Result<Secret>& result) {
  return result ? std::string(result->text()) : "problem: " + result.problem();
}

std::string from_file(const std::string& text, mode_t mode) {
  const test::FleetFolder folder({{"secret", text}});
  ::chmod((folder.path() + "/secret").c_str(), mode);
  return secret_of(read_secret(source(Kind::file, "secret"), folder.path()));
}

std::string from_command(const std::string& line, std::chrono::milliseconds wait = 10s) {
  return secret_of(read_secret(source(Kind::command, line), "/tmp", wait));
}

}  // namespace

TEST_CASE("a secret comes from an environment variable") {
  ::setenv("LARKMOOR_TEST_SECRET", "maplesyrup", 1);
  CHECK(secret_of(read_secret(source(Kind::environment, "LARKMOOR_TEST_SECRET"), "/tmp")) == "maplesyrup");
  ::unsetenv("LARKMOOR_TEST_SECRET");
  CHECK(says(secret_of(read_secret(source(Kind::environment, "LARKMOOR_TEST_SECRET"), "/tmp")),
             {"LARKMOOR_TEST_SECRET is not set"}));
}

TEST_CASE("a secret comes from a file of its owner's alone") {
  CHECK(from_file("maplesyrup\n", 0600) == "maplesyrup");
  CHECK(from_file("maplesyrup\r\n", 0400) == "maplesyrup");
  CHECK(from_file(" maple syrup ", 0600) == " maple syrup ");
  for (const mode_t mode : {0640, 0604, 0620, 0601}) {
    const std::string problem = from_file("maplesyrup\n", mode);
    CHECK(says(problem, {"problem: ", "secret file secret", "open to others", "give it mode 600"}));
    CHECK_FALSE(says(problem, {"syrup"}));
  }
}

TEST_CASE("a secret file that is missing, empty, short, long or of several lines is refused") {
  CHECK(says(secret_of(read_secret(source(Kind::file, "none"), "/tmp/none")), {"cannot be opened"}));
  CHECK(says(secret_of(read_secret(source(Kind::file, "/tmp"), "/")), {"is no file"}));
  CHECK(says(from_file("\n", 0600), {"holds no secret"}));
  CHECK(says(from_file("syrup", 0600), {"too short", "8 characters"}));
  CHECK(says(from_file(std::string(5000, 's'), 0600), {"too long"}));
  CHECK(says(from_file("maplesyrup\nnewsyrup\n", 0600), {"more than one line"}));
  CHECK_FALSE(says(from_file("maplesyrup\nnewsyrup\n", 0600), {"syrup"}));
}

TEST_CASE("a secret is the first line that a command prints") {
  CHECK(from_command("printf 'maplesyrup\\nsecond\\n'") == "maplesyrup");
  CHECK(from_command("cat; echo maplesyrup") == "maplesyrup");  // nothing to read
  CHECK(from_command("cat /proc/self/cmdline >/dev/null; pwd >/dev/null; echo \"$(pwd)/maple\"") ==
        "/tmp/maple");
}

TEST_CASE("a command gets our environment without the variables that are withheld") {
  ::setenv("LARKMOOR_TEST_SECRET", "maplesyrup", 1);
  ::setenv("LARKMOOR_TEST_PLACE", "Sluice Street", 1);
  SecretSource command = source(Kind::command, "echo \"${LARKMOOR_TEST_SECRET-none} $LARKMOOR_TEST_PLACE\"");
  CHECK(secret_of(read_secret(command, "/tmp")) == "maplesyrup Sluice Street");
  command.withheld = {"LARKMOOR_TEST_SECRET"};
  CHECK(secret_of(read_secret(command, "/tmp")) == "none Sluice Street");
  ::unsetenv("LARKMOOR_TEST_SECRET");
  ::unsetenv("LARKMOOR_TEST_PLACE");
}
TEST_CASE("a command that fails, prints nothing or never ends is a problem that shows nothing") {
  const std::string failed = from_command("echo maplesyrup; exit 3");
  CHECK(says(failed, {"fleet.yaml:3:9", "ended with status 3"}));
  CHECK_FALSE(says(failed, {"syrup"}));
  CHECK(says(from_command("true"), {"holds no secret"}));
  CHECK(says(from_command("kill -9 $$"), {"signal 9"}));
  CHECK(says(from_command("yes maplesyrup"), {"did not end", "octets"}));

  const auto begin = std::chrono::steady_clock::now();
  CHECK(says(from_command("echo maplesyrup; sleep 60", 200ms), {"did not end within 200 ms"}));
  CHECK(says(from_command("exec >&-; sleep 60", 200ms), {"did not end within 200 ms"}));
  // One that leaves its process group is ended all the same.
  CHECK(says(from_command("exec perl -e 'setpgrp(0, getpgrp(getppid())); sleep 60'", 200ms),
             {"did not end within 200 ms"}));
  CHECK(std::chrono::steady_clock::now() - begin < 20s);
}

TEST_CASE("a credential without a source gives a problem") {
  CHECK_FALSE(read_secret({}, "/tmp"));
}

TEST_CASE("a secret of several lines is read whole, and is guarded as one of one line") {
  const std::string pem = "-----BEGIN\nsyrup\n-----END\n";
  const test::FleetFolder folder({{"key", pem}});
  const std::string path = folder.path() + "/key";
  ::chmod(path.c_str(), 0600);
  CHECK(secret_of(read_secret_lines(source(Kind::file, "key"), folder.path())) == pem);
  CHECK(secret_of(read_secret_lines(source(Kind::command, "printf 'a\\nb\\n'"), "/tmp")) == "a\nb\n");
  ::chmod(path.c_str(), 0644);
  CHECK(says(secret_of(read_secret_lines(source(Kind::file, "key"), folder.path())), {"give it mode 600"}));
}

TEST_CASE(
    "no child inherits the variables that a fleet's credentials name, and their octets are overwritten") {
  ::setenv("LARKMOOR_HELD_AUTH", "maplesyrup", 1);
  ::setenv("LARKMOOR_HELD_PRIVACY", "birchsyrup", 1);
  ::setenv("LARKMOOR_HELD_COMMUNITY", "elmsyrup", 1);
  ::setenv("LARKMOOR_OTHER", "acorns", 1);
  const Tree tree(
      {{"fleet.yaml",
        "fleet: L\ncredential: a\ncredentials:\n"
        "  a: {user: u, auth-secret: {env: LARKMOOR_HELD_AUTH}, privacy-secret: {env: "
        "LARKMOOR_HELD_PRIVACY}}\n"
        "  b: {version: 2c, community: {env: LARKMOOR_HELD_COMMUNITY}, insecure: units of 2009}\n"},
       {"units.yaml", two_units}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  const char* const octets = ::getenv("LARKMOOR_HELD_AUTH");
  CHECK(says(from_command("env | tr '\\n' ' '"), {"maplesyrup", "birchsyrup", "elmsyrup"}));

  hold_secret_variables(tree.fleet);
  const std::string seen = from_command("env | tr '\\n' ' '; tr '\\0' ' ' </proc/self/environ");
  CHECK_FALSE(says(seen, {"syrup"}));
  CHECK_FALSE(says(seen, {"LARKMOOR_HELD"}));
  CHECK(says(seen, {"LARKMOOR_OTHER=acorns"}));
  CHECK(std::string(octets, 10) == std::string(10, '\0'));
  CHECK(secret_of(read_secret(tree.fleet.credentials.at("a").auth_secret, "/tmp")) == "maplesyrup");
  CHECK(secret_of(read_secret(tree.fleet.credentials.at("b").community, "/tmp")) == "elmsyrup");

  forget_secret_variables();
  CHECK(says(secret_of(read_secret(tree.fleet.credentials.at("a").auth_secret, "/tmp")), {"is not set"}));
  ::unsetenv("LARKMOOR_OTHER");
}
