#include "catch.h"
#include "program.h"

using namespace vergeset::tests;

namespace {

Ran completed(const Fleet& fleet, std::vector<std::string> words) {
  words.insert(words.begin(), {"complete", words.front(), "--fleet", fleet.folder()});
  words.erase(words.begin() + 4);
  return run(words);
}

}  // namespace

TEST_CASE("a unit is completed with where it stands, a group with its file, a model with its title") {
  const Fleet fleet("complete");
  CHECK(completed(fleet, {"diff", "LK-"}).out == "LK-101\nLK-102\n");
  CHECK(completed(fleet, {"diff", "--group", ""}).out == "signals groups/signals.yaml\n");
  CHECK(completed(fleet, {"diff", "--model=rsu"}).out == "--model=rsu-4.1 RSU 4.1\n");
  CHECK(completed(fleet, {"diff", "LK-1*"}).out == "LK-1* 2 units\n");
  CHECK(completed(fleet, {"diff", "XX-*"}).out.empty());
}

TEST_CASE("a fleet with faults completes as far as it can be read, and says nothing of them") {
  const Fleet fleet("complete-faults");
  fleet.add("units.yaml", "  LK-103: {address: 127.0.0.1, model: no-such-model, nonsense: 1}\n");
  const Ran ran = completed(fleet, {"diff", "LK-10"});
  CHECK(ran.status == 0);
  CHECK(ran.err.empty());
  CHECK_THAT(ran.out, Catch::Contains("LK-101\n"));
  fleet.write("fleet.yaml", "]");
  fleet.write("units.yaml", "\t- [");
  const Ran none = completed(fleet, {"diff", "LK-10"});
  CHECK(none.status == 0);
  CHECK(none.err.empty());
}

TEST_CASE("changes are completed newest first, with what they were") {
  const Fleet fleet("complete-changes");
  for (const std::string number : {"0001", "0002"}) {
    fleet.write("records/changes/" + number + "/change.yaml",
                "change: " + number.substr(3) +
                    "\nkind: apply\nfleet: F\nwho: a@b\nwhy: evening\nbegun: 2026-11-25\n"
                    "ended: 2026-11-25\nunits: {}\nfiles: {}\n");
  }
  CHECK(completed(fleet, {"rollback", ""}).out ==
        "0002 apply 2026-11-25 evening\n0001 apply 2026-11-25 evening\n");
  CHECK(completed(fleet, {"changes", ""}).out == "show one change\n");
  CHECK_THAT(completed(fleet, {"changes", "show", ""}).out, Catch::StartsWith("0002 "));
}

TEST_CASE("a name that means something to a shell is no candidate") {
  const Fleet fleet("complete-hostile");
  for (const std::string name : {"$(touch x)", "a;b", "`id`", "a b", "a'b", "q\\\"r"})
    fleet.write("groups/" + name + ".yaml", "settings: {}\n");
  CHECK(completed(fleet, {"diff", "--group", ""}).out == "signals groups/signals.yaml\n");
}

TEST_CASE(
    "the value of an option is told from the option, and an option that stands there is not offered again") {
  CHECK(run({"complete", "apply", "--why", "--dr"}).out.empty());
  CHECK(run({"complete", "apply", "--why", "x", "--dry"}).out ==
        "--dry-run show differences and steps; send no SET\n");
  CHECK(run({"complete", "apply", "--dry-run", "--dry"}).out.empty());
  CHECK(run({"complete", "apply", "--", "--dry"}).out.empty());
  CHECK(run({"complete", "check", "--fleet", ""}).out == ":folders\n");
  CHECK(run({"complete", "approve", ""}).out == ":files\n");
  CHECK(run({"complete"}).status == 0);
  CHECK_THAT(run({"complete", ""}).out, Catch::Contains("\naudit ") && Catch::Contains("\nself-test "));
}
