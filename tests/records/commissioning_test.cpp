#include "records/commissioning.h"

#include "catch.h"
#include "support/memory_disk.h"

using namespace vergeset;
using records::Commissioning;

namespace {

const std::string at = "2026-05-01T08:00:00.000Z";

Commissioning opened(const records::Disk& disk) {
  auto record = Commissioning::open(disk, "LK-104");
  REQUIRE(record);
  return *std::move(record);
}

}  // namespace

TEST_CASE(
    "a commissioning that was broken off is gone on with, and one that has ended is followed by another") {
  test::MemoryDisk disk;
  Commissioning first = opened(disk);
  CHECK(first.is_new());
  first.begin(disk, "fitter@van", at);
  first.add(disk, records::PoleAnswer{"antennas", "no", "one is \"loose\"", "A. Fitter", at});
  first.add(disk, records::PoleAnswer{"antennas", "yes", "", "A. Fitter", at});
  const records::StageDone apply{"apply",
                                 true,
                                 "settled",
                                 7,
                                 {{"notify-address", "::", "192.0.2.10"}},
                                 {{"bond", "warning", "no bond", "common practice"}},
                                 {{"firmware", "4.2.0"}},
                                 "fitter@van",
                                 at};
  first.add(disk, apply);

  Commissioning again = opened(disk);
  CHECK_FALSE(again.is_new());
  CHECK(again.number() == 1);
  CHECK(again.begun() == at);
  REQUIRE(again.answer("antennas") != nullptr);
  CHECK(*again.answer("antennas") == records::PoleAnswer{"antennas", "yes", "", "A. Fitter", at});
  REQUIRE(again.stage("apply") != nullptr);
  CHECK(*again.stage("apply") == apply);
  CHECK(again.passed("apply"));
  CHECK_FALSE(again.passed("health"));
  again.end(disk, "fitter@van", at);

  const Commissioning next = opened(disk);
  CHECK(next.is_new());
  CHECK(next.number() == 2);
  CHECK(next.answer("antennas") == nullptr);
}

TEST_CASE("a line that a power cut tore is passed over, and what follows it holds") {
  test::MemoryDisk disk;
  Commissioning first = opened(disk);
  first.begin(disk, "fitter@van", at);
  disk.append(first.path() + ".jsonl", R"({"event":"stage","stage":"keys","pass)", true);
  Commissioning again = opened(disk);
  CHECK_FALSE(again.passed("keys"));
  again.add(disk, records::StageDone{"reach", true, "answers", 0, {}, {}, {}, "fitter@van", at});
  CHECK(opened(disk).passed("reach"));
  CHECK_FALSE(opened(disk).passed("keys"));
}

TEST_CASE("a damaged record of a commissioning is told by its line, and never guessed at") {
  for (const char* line :
       {"nonsense", "[]", "{}", R"({"event":"stage","stage":"keys","passed":"yes","at":"x"})",
        R"({"event":"stage","passed":1,"at":"2026-05-01T08:00:00.000Z"})"}) {
    test::MemoryDisk disk;
    Commissioning first = opened(disk);
    first.begin(disk, "fitter@van", at);
    disk.append(first.path() + ".jsonl", std::string(line) + "\n", true);
    const auto again = Commissioning::open(disk, "LK-104");
    REQUIRE_FALSE(again);
    CHECK_THAT(again.problem(), Catch::Contains("commissioning/LK-104/0001.jsonl:2: this line is damaged"));
  }
}
