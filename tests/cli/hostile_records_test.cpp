// Records that another host, user or program wrote, with text that terminals obey.

#include <nlohmann/json.hpp>

#include "catch.h"
#include "program.h"
#include "support/held_still.h"

using namespace vergeset::tests;

namespace {

const std::string hostile =
    "\033]0;owned\a\033[2J \xc2\x9b"
    "31m \u202etxt.exe \x7f \u200b";

/// As it stands in JSON.
std::string quoted(const std::string& text) {
  return nlohmann::json(text).dump();
}

std::string audit_record(const std::string& what) {
  return "{\"audit\": 2, \"fleet\": \"Larkmoor trial\", \"who\": " + quoted(hostile) +
         ", \"part\": \"1/1\", \"files\": \"0\", \"begun\": \"2026-11-25T02:00:00.000Z\", \"ended\": "
         "\"2026-11-25T02:01:00.000Z\", \"units\": [{\"unit\": " +
         quoted(what) + ", \"verdict\": " + quoted(what) + ", \"what\": " + quoted(what) + "}]}\n";
}

void holds_still(const Fleet& fleet, const std::vector<std::string>& words) {
  INFO(words.front());
  const Ran ran = fleet.on(words);
  INFO(ran.out << ran.err);
  CHECK(moves(ran.out) == "");
  CHECK(moves(ran.err) == "");
  std::vector<std::string> all{PROGRAM};
  all.insert(all.end(), words.begin(), words.end());
  all.insert(all.end(), {"--fleet", fleet.folder()});
  CHECK(moves(on_terminal(all), true) == "");
}

}  // namespace

TEST_CASE("what stands in records of others is shown as text, in a pipe and on a terminal") {
  const Fleet fleet("hostile-records");
  fleet.write("records/changes/0001/change.yaml",
              "change: 1\nkind: apply\nfleet: Larkmoor trial\nwho: " + quoted(hostile) +
                  "\nwhy: " + quoted(hostile) + "\napproved: " + quoted(hostile) +
                  "\nbegun: 2026-11-25T02:00:00.000Z\nended: 2026-11-25T02:01:00.000Z\nunits:\n  LK-101:\n   "
                  " outcome: "
                  "settled\n    what: " +
                  quoted(hostile) + "\n    steps: 1\n    off-air-ms: 0\nfiles: {}\n");
  fleet.write("records/units/LK-101.log",
              "2026-11-25T02:00:00.000Z  audit        ends " + hostile + "\n" + hostile + "\n");
  fleet.write("records/audits/2026-11-25T02-00-00Z.json", audit_record(hostile));
  fleet.write("records/audits/2026-11-25T03-00-00Z.json", audit_record("LK-101"));
  for (const char* form : {"", "--json"}) {
    const auto with = [&](std::vector<std::string> words) {
      if (*form != '\0') words.push_back(form);
      return words;
    };
    holds_still(fleet, with({"changes"}));
    holds_still(fleet, with({"changes", "show", "1"}));
    holds_still(fleet, with({"log", "LK-101"}));
    holds_still(fleet, with({"log", "LK-101", "--full"}));
    holds_still(fleet, with({"units"}));
    holds_still(fleet, with({"gather", fleet.path("records/audits/2026-11-25T02-00-00Z.json")}));
    holds_still(fleet, with({"gather", fleet.path("records/audits/2026-11-25T03-00-00Z.json")}));
    holds_still(fleet, with({"where", hostile}));
    holds_still(fleet, with({"rollback", hostile}));
    holds_still(fleet, with({hostile}));
  }
}

TEST_CASE("a work order with text that terminals obey is told of as text") {
  const Fleet fleet("hostile-order");
  fleet.write("order.yaml", "work-order: 1\nfleet: " + quoted(hostile) + "\n# digest: " + hostile + "\n");
  holds_still(fleet, {"apply", "--order", fleet.path("order.yaml")});
  holds_still(fleet, {"approve", fleet.path("order.yaml")});
}
