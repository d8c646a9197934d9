// What is known of a unit since it was first met decides whom a later visit speaks to.

#include "change/district.h"
#include "records/journal.h"

using namespace vergeset;
using namespace vergeset::test;
using change::Outcome;
using change::Verdict;

namespace {

/// A district whose records remember units.
class Remembering {
 public:
  Remembering() { district.world.known = &known; }
  explicit Remembering(std::map<std::string, std::string> files) : district(files) {
    district.world.known = &known;
  }
  std::string where(const std::string& name) const { return District::where(district.unit(name)); }
  /// Another unit, of the same name, at its address.
  void replace(const std::string& name) { district.network.engines[where(name)] = "another engine"; }
  std::vector<change::Audited> read() {
    std::vector<const fleet::Unit*> units;
    for (const fleet::Unit& unit : district.fleet.units) units.push_back(&unit);
    return change::read_units(district.world, units, false, 16);
  }

  District district{two_units()};
  records::KnownUnits known;
};

std::string log_of(Remembering& here, const std::string& name) {
  return here.district.disk.read("units/" + name + ".log").value_or("");
}

}  // namespace

TEST_CASE(
    "a unit that answers with another engine than at first is the wrong unit, to audits, surveys and "
    "changes") {
  Remembering here;
  const auto at_first = here.district.audit();
  CHECK(at_first[0].verdict == Verdict::drifted);
  here.replace("LK-101");

  const auto audited = here.district.audit();
  CHECK(audited[0].verdict == Verdict::wrong_unit);
  CHECK_THAT(audited[0].what, Catch::Contains(smi::to_hex("another engine")) &&
                                  Catch::Contains(smi::to_hex("engine of " + here.where("LK-101"))) &&
                                  Catch::Contains("vergeset survey LK-101 --accept-replacement"));
  CHECK(audited[1].verdict == Verdict::drifted);
  CHECK(here.read()[0].verdict == Verdict::wrong_unit);

  const change::ChangeResult changed = here.district.apply();
  CHECK(changed.units[0].outcome == Outcome::refused);
  CHECK_THAT(changed.units[0].what, Catch::StartsWith("wrong unit: "));
  CHECK(changed.units[1].outcome == Outcome::settled);
  for (const SimNetwork::Sent& sent : here.district.network.sets) CHECK(sent.where != here.where("LK-101"));
}

TEST_CASE("a unit that is replaced between a change's preview and its turn is refused before any SET") {
  Remembering here;
  const auto goals = here.district.goals();
  const auto previews = change::preview(here.district.world, goals, false, 16);
  REQUIRE(previews[0].result.outcome == Outcome::settled);
  here.replace("LK-101");
  change::ApplyOptions options;
  options.kind = "apply";
  const change::ChangeResult changed = change::apply(here.district.world, goals, previews, options);
  CHECK(changed.units[0].outcome == Outcome::refused);
  CHECK_THAT(changed.units[0].what, Catch::StartsWith("wrong unit: "));
  for (const SimNetwork::Sent& sent : here.district.network.sets) CHECK(sent.where != here.where("LK-101"));
}

TEST_CASE("a replacement that is accepted is changed, and journal and records tell what it is in place of") {
  Remembering here;
  here.district.audit();
  here.replace("LK-101");
  here.known.accept({"LK-101"}, "ops@desk");
  const change::ChangeResult changed = here.district.apply();
  CHECK(changed.units[0].outcome == Outcome::settled);
  const std::string was = smi::to_hex("engine of " + here.where("LK-101"));
  CHECK_THAT(*here.district.disk.read("changes/0001/journal.jsonl"),
             Catch::Contains("\"replaces\":\"" + was + "\""));
  CHECK_THAT(*here.district.disk.read("known-units.jsonl"), Catch::Contains("\"who\":\"ops@desk\""));
  CHECK_THAT(log_of(here, "LK-101"), Catch::Contains("accepted by ops@desk"));
  CHECK(records::KnownUnits::read(here.district.disk).expected("LK-101") == "another engine");
  CHECK(here.district.audit()[0].verdict == Verdict::agrees);
}

TEST_CASE("what has another unit's name, or does not answer, is not remembered as the unit") {
  Remembering here;
  SECTION("another unit's rsuID") {
    here.district.put("LK-101", "rsuID", 0, "LK-102");
  }
  SECTION("no answer") {
    here.district.network.units.erase(here.where("LK-101"));
  }
  here.district.audit();
  CHECK_FALSE(records::KnownUnits::read(here.district.disk).find("LK-101"));
  CHECK(records::KnownUnits::read(here.district.disk).find("LK-102"));
}

TEST_CASE("a replacement that is accepted but speaks for another unit is not taken") {
  Remembering here;
  here.district.audit();
  here.replace("LK-101");
  here.district.put("LK-101", "rsuID", 0, "LK-102");
  here.known.accept({"LK-101"}, "ops@desk");
  CHECK(here.district.audit()[0].verdict == Verdict::wrong_unit);
  CHECK(records::KnownUnits::read(here.district.disk).find("LK-101")->who.empty());
}

TEST_CASE("an engine id in the inventory decides instead of what was met") {
  auto files = two_units();
  files["units.yaml"] =
      "units:\n"
      "  LK-101: {address: 127.77.0.1, port: 16161, model: ntcip1218-v01, engine-id: 80001f88044c4b}\n"
      "  LK-102: {address: 127.77.0.2, port: 16161, model: rsu-4.1}\n";
  Remembering here(files);
  const auto audited = here.district.audit();
  CHECK(audited[0].verdict == Verdict::wrong_unit);
  CHECK_THAT(audited[0].what, Catch::EndsWith("the inventory says 80001f88044c4b"));
  here.district.network.engines[here.where("LK-101")] = *smi::from_hex("80001f88044c4b");
  CHECK(here.district.audit()[0].verdict == Verdict::drifted);
}

TEST_CASE("within one change a unit that starts anew with another engine is put right by its name") {
  Remembering here;
  here.district.audit();
  // At its first SET the unit loses its answer and makes itself another engine id.
  here.district.network.before_set = [&](const std::string& where) {
    if (where == here.where("LK-101")) here.replace("LK-101");
  };
  const change::ChangeResult changed = here.district.apply();
  CHECK(changed.units[0].outcome == Outcome::settled);
  // Whether it stays so is a person's to say.
  here.district.network.before_set = {};
  CHECK(here.district.audit()[0].verdict == Verdict::wrong_unit);
}
