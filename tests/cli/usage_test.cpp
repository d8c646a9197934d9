#include <sstream>

#include "catch.h"
#include "program.h"

using namespace vergeset::tests;

namespace {

const std::vector<std::string> commands = {
    "new",    "import", "draft", "model",   "check",    "units",   "where",    "message",    "reach",
    "survey", "diff",   "apply", "approve", "rollback", "rekey",   "recover",  "commission", "audit",
    "gather", "report", "thin",  "listen",  "log",      "changes", "self-test"};

void fits_a_screen(const std::string& help) {
  std::istringstream lines(help);
  int count = 0;
  for (std::string line; std::getline(lines, line); ++count) {
    INFO(line);
    CHECK(line.size() <= 80);
  }
  CHECK(count <= 24);
  CHECK_THAT(help, Catch::Contains("Example: vergeset "));
}

}  // namespace

TEST_CASE("the help of every command fits a screen and shows an example") {
  for (const std::string& command : commands) {
    INFO(command);
    const Ran ran = run({command, "--help"});
    CHECK(ran.status == 0);
    CHECK(ran.err.empty());
    fits_a_screen(ran.out);
    CHECK(run({"help", command}).out == ran.out);
  }
}

TEST_CASE("the program's own help fits a screen and names every command") {
  const Ran ran = run({"--help"});
  CHECK(ran.status == 0);
  fits_a_screen(ran.out);
  for (const std::string& command : commands)
    CHECK_THAT(ran.out, Catch::Contains(" " + command + " ") || Catch::Contains(" " + command + ", "));
}

TEST_CASE("a command line without a command is bad usage and shows the help") {
  const Ran ran = run({});
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK_THAT(ran.err, Catch::Contains("Usage: vergeset COMMAND"));
}

TEST_CASE("a misspelt command is bad usage and gets the one that was meant") {
  const Ran ran = run({"chekc"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Catch::Contains("no command chekc") && Catch::Contains("did you mean check?"));
}

TEST_CASE("a misspelt option is bad usage and gets the one that was meant") {
  const Ran ran = run({"apply", "--dryrun"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err,
             Catch::Contains("unknown option --dryrun") && Catch::Contains("did you mean --dry-run?"));
}

TEST_CASE("every other slip on the command line is bad usage too") {
  CHECK(run({"where"}).status == 2);
  CHECK(run({"apply", "--at-once", "many"}).status == 2);
  CHECK(run({"apply", "--at-once", "0"}).status == 2);
  CHECK(run({"apply", "--why"}).status == 2);
  CHECK(run({"check", "LK-101"}).status == 2);
  CHECK(run({"--json", "check"}).status == 2);
}

TEST_CASE("an option without its value, or with one that it does not take, is told in words") {
  CHECK_THAT(run({"apply", "--why"}).err, Catch::Contains("vergeset: --why needs TEXT\n"));
  const Ran ran = run({"apply", "--yes=maybe"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Catch::Contains("vergeset: --yes takes no value\n"));
}

TEST_CASE("output that cannot be written is told and is no success") {
  const Ran ran = run({"--version"}, {}, "/dev/full");
  CHECK(ran.status == 1);
  CHECK_THAT(ran.err, Catch::Contains("cannot write the output: No space left on device"));
}

TEST_CASE("the version is told, with those of the libraries") {
  const Ran ran = run({"--version"});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Catch::StartsWith("vergeset 0."));
  for (const std::string library :
       {"net-snmp", "OpenSSL", "yaml-cpp", "fmt", "GeographicLib", "CLI11", "nlohmann-json"})
    CHECK_THAT(ran.out, Catch::Matches("(.|\n)*\n  " + library + " +[0-9]+\\.[0-9]+(.|\n)*"));
}
