#include <algorithm>

#include "catch.h"
#include "records/change_record.h"
#include "records/journal.h"
#include "records/json_read.h"
#include "records/unfinished.h"
#include "smi/value.h"
#include "support/memory_disk.h"
#include "support/record_samples.h"

// Journals are read after a change was broken off, which may have been an earlier version's: cut behind each
// of its lines, as a power cut would leave it, every sample is what recovery makes of it. What is expected is
// taken from the lines themselves, and some of it stands here as it is written there.

using namespace vergeset;
using namespace vergeset::records;
using vergeset::test::MemoryDisk;
using vergeset::test::versions_of;

namespace {

/// The change record of a version, as it was while the change was under way.
std::string under_way(const std::string& change_yaml) {
  const auto at = change_yaml.find("\nended: ");
  REQUIRE(at != std::string::npos);
  return change_yaml.substr(0, at) + change_yaml.substr(change_yaml.find('\n', at + 1));
}

Unfinished left_by(const std::string& change_yaml, const std::string& journal) {
  MemoryDisk disk;
  disk.folders.insert("changes/0042");
  disk.files["changes/0042/change.yaml"] = change_yaml;
  disk.files["changes/0042/journal.jsonl"] = journal;
  auto all = unfinished_changes(disk);
  REQUIRE(all.size() == 1);
  return all.front();
}

struct Lines {
  std::vector<std::string> texts;  ///< each with its end
  std::vector<Json> events;
};

Lines journal_lines(const std::string& journal) {
  Lines lines;
  for (std::size_t at = 0; at < journal.size();) {
    const std::size_t end = journal.find('\n', at);
    REQUIRE(end != std::string::npos);
    lines.texts.push_back(journal.substr(at, end + 1 - at));
    lines.events.push_back(Json::parse(lines.texts.back()));
    at = end + 1;
  }
  REQUIRE(lines.events.size() > 3);
  CHECK(lines.events.front().at("event") == "begin");
  CHECK(lines.events.back().at("event") == "end");
  return lines;
}

/// What the lines themselves say of a unit that has begun and not ended; nothing where that is not so.
struct Told {
  std::size_t steps = 0;
  std::string giver;
  std::vector<Json> announced;
  std::vector<std::string> set_back;
  bool restoring = false;
  bool all_numbered = true;
  std::vector<std::string> modes;
  std::int64_t last_at = 0;
};

void take_line(const Json& event, std::map<std::string, Told>& units) {
  const std::string kind = event.at("event");
  const std::string unit = event.value("unit", "");
  if (unit.empty()) return;
  if (kind == "outcome") {
    units.erase(unit);
    return;
  }
  if (kind == "begin unit") {
    units[unit] = {};
    units[unit].steps = event.at("steps").get<std::size_t>();
    units[unit].giver = event.value("giver", "");
  }
  Told& told = units.at(unit);
  if (kind == "step") told.announced.push_back(event);
  if (kind == "restore step") {
    for (const Json& set : event.at("set")) told.set_back.push_back(set.at("oid"));
  }
  if (kind == "restore" || kind == "restore step") told.restoring = true;
  if (kind != "step" && kind != "restore step" && kind != "fence") return;
  told.all_numbered = told.all_numbered && event.value("numbered", false);
  if (event.contains("mode")) told.modes.push_back(event["mode"]);
  told.last_at = milliseconds_of(event.at("at").get<std::string>()).value();
}

void is_as_told(const HalfDone& half, const Told& told, bool of_keys) {
  INFO(half.unit);
  CHECK(half.steps == told.steps);
  CHECK(half.giver == told.giver);
  CHECK(half.restoring == told.restoring);
  CHECK(half.unnumbered == !told.all_numbered);
  CHECK(half.last_step_at == told.last_at);
  CHECK(half.mode_touched == !told.modes.empty());
  CHECK((half.standby_at > 0) == (std::count(told.modes.begin(), told.modes.end(), "standby") > 0));
  // Of keys no values are on record, so that nothing of them may be taken for all that was set.
  CHECK(half.incomplete == (of_keys && !told.announced.empty()));
  std::vector<std::string> set_back;
  for (const smi::Oid& oid : half.set_back) set_back.push_back(oid.str());
  CHECK(set_back == told.set_back);
  REQUIRE(half.announced.size() == told.announced.size());
  for (std::size_t i = 0; i < half.announced.size(); ++i) {
    const AnnouncedStep& step = half.announced[i];
    const Json& line = told.announced[i];
    CHECK(step.about == line.at("about"));
    const std::string mode = line.value("mode", "");
    CHECK((step.mode == AnnouncedStep::Mode::standby) == (mode == "standby"));
    CHECK((step.mode == AnnouncedStep::Mode::operate) == (mode == "operate"));
    const Json sets = line.value("set", Json::array());
    REQUIRE(step.sets.size() == sets.size());
    for (std::size_t k = 0; k < sets.size(); ++k) {
      CHECK(step.sets[k].object == sets[k].at("object"));
      CHECK(step.sets[k].oid.str() == sets[k].at("oid"));
      CHECK(smi::exact_text(step.sets[k].value) == sets[k].at("value"));
    }
  }
}

/// Cut behind each of its lines. How often a unit was half done.
std::size_t is_read_wherever_it_breaks_off(const std::string& journal, const std::string& change_yaml,
                                           bool of_keys) {
  const Lines lines = journal_lines(journal);
  std::map<std::string, Told> told;
  std::string so_far;
  std::size_t times = 0;
  for (std::size_t i = 0; i < lines.events.size(); ++i) {
    so_far += lines.texts[i];
    take_line(lines.events[i], told);
    INFO("cut behind line " << i + 1);
    const Unfinished left = left_by(change_yaml, so_far);
    REQUIRE(left.units.size() == told.size());
    for (const HalfDone& half : left.units) {
      REQUIRE(told.count(half.unit) == 1);
      is_as_told(half, told.at(half.unit), of_keys);
      ++times;
    }
    // And in the middle of the next one, which was never acted on.
    if (i + 1 < lines.texts.size()) {
      const std::string torn = so_far + lines.texts[i + 1].substr(0, lines.texts[i + 1].size() / 2);
      CHECK(left_by(change_yaml, torn).units.size() == told.size());
    }
  }
  CHECK(told.empty());
  return times;
}

/// Which lines and members there are in a journal: "step.mode".
std::set<std::string> members_in(const std::string& journal) {
  std::set<std::string> all;
  for (const Json& event : journal_lines(journal).events) {
    for (const auto& [name, value] : event.items())
      all.insert(event.at("event").get<std::string>() + "." + name);
  }
  return all;
}

}  // namespace

TEST_CASE("a change that any version left half done is known to recovery, whichever line was its last") {
  for (const std::string kind : {"journal", "recovered-journal", "key-journal"}) {
    for (const auto& [version, journal] : versions_of(kind)) {
      for (const auto& [of_change, change_yaml] : versions_of("change")) {
        INFO(kind << "-" << version << " of change-" << of_change);
        CHECK(is_read_wherever_it_breaks_off(journal, under_way(change_yaml), kind == "key-journal") > 2);
      }
    }
  }
}

TEST_CASE("versions of journals differ by what their lines say") {
  const auto says = [](const std::string& kind, int version, const std::string& what) {
    return members_in(versions_of(kind).at(version)).count(what) > 0;
  };
  // The first did not say which steps are of the mode; SETs without a serial number were told last.
  const std::map<int, std::pair<bool, bool>> journals{
      {1, {false, false}}, {2, {true, true}}, {3, {true, false}}, {4, {true, true}}};
  REQUIRE(journals.size() == versions_of("journal").size());
  for (const auto& [version, has] : journals) {
    INFO("journal-" << version);
    CHECK(says("journal", version, "step.mode") == has.first);
    CHECK(says("journal", version, "step.numbered") == has.second);
    CHECK(says("journal", version, "begin unit.replaces") == (version == 4));
  }
  for (const int version : {1, 2}) {
    CHECK(says("recovered-journal", version, "recover.who"));
    CHECK(says("recovered-journal", version, "fence.set"));
    CHECK(says("recovered-journal", version, "step.numbered") == (version == 2));
    CHECK(says("key-journal", version, "begin unit.giver") == (version == 2));
    CHECK(says("key-journal", version, "fence.about"));
    CHECK_FALSE(says("key-journal", version, "step.set"));
  }
  CHECK(says("key-journal", 1, "restore.why"));
}

TEST_CASE("values that the first journals announced are read as they stand there") {
  const std::string change_yaml = under_way(versions_of("change").at(1));
  const Lines lines = journal_lines(versions_of("journal").at(1));
  const Unfinished left =
      left_by(change_yaml, lines.texts[0] + lines.texts[1] + lines.texts[2] + lines.texts[3]);
  const HalfDone& half = left.units.at(0);
  CHECK(half.unit == "LK-101");
  const Announced& set = half.announced.at(0).sets.at(0);
  CHECK(set.object == "rsuGnssMaxDeviation.0");
  CHECK(set.oid.str() == "1.3.6.1.4.1.1206.4.2.18.6.9.0");
  CHECK(set.value == smi::Value::integer(15));
  CHECK(half.unnumbered);
  const Lines keys = journal_lines(versions_of("key-journal").at(2));
  CHECK(left_by(change_yaml, keys.texts[0] + keys.texts[1]).units.at(0).giver == "installer");
}

TEST_CASE("a change that has not ended takes what became of its units from journals of every version") {
  for (const std::string kind : {"journal", "recovered-journal", "key-journal"}) {
    for (const auto& [version, text] : versions_of(kind)) {
      INFO(kind << "-" << version);
      ChangeRecord change;
      change.number = 1;
      change.begun = "2026-11-25T02:00:00.000Z";
      change.units = {{"LK-101", "held", "", 0, 0}};
      MemoryDisk disk;
      disk.folders.insert("changes/0001");
      disk.files["changes/0001/change.yaml"] = to_yaml(change);
      disk.files["changes/0001/journal.jsonl"] = text;
      const auto read = find_change(disk, 1);
      REQUIRE(read);
      CHECK(read->units.at(0).outcome == "settled");
      CHECK(read->units.at(0).steps > 0);
    }
  }
}
