#include "catch.h"
#include "records/audit_record.h"
#include "records/change_record.h"
#include "records/commissioning.h"
#include "records/engines.h"
#include "records/factory_tries.h"
#include "records/holder.h"
#include "records/key_store.h"
#include "records/known_units.h"
#include "records/notification_log.h"
#include "records/own_engine.h"
#include "records/snapshot.h"
#include "records/survey_record.h"
#include "records/unit_log.h"
#include "support/memory_disk.h"
#include "support/record_samples.h"

// A sample of every version of every record that was ever written (samples/README.md), so that no upgrade
// makes a fleet's history unreadable: each is read by today's code, and what today's code writes is the
// newest.

using namespace vergeset;
using namespace vergeset::records;
using vergeset::test::is_newest;
using vergeset::test::MemoryDisk;
using vergeset::test::versions_of;

namespace {

const std::string sample_begun = "2026-11-25T02:00:00.000Z";
const std::string taken = "2026-11-25T02:00:01.000Z";
const std::string engine("\x80\x00\x1f\x88\x04LK-104", 11);
const std::string engine_hex = "80001f88044c4b2d313034";
const std::string other_engine("\x80\x00\x1f\x88\x04LK-900", 11);

const Kept tolerance{"rsuGnssMaxDeviation.0", smi::Oid{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 6, 9, 0},
                     smi::Value::integer(20000)};
const Kept psid{"rsuMsgRepeatPsid.9", smi::Oid{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 4, 2, 1, 2, 9},
                smi::Value::of_octets("\x80\x03")};
const Kept channel{"rsuMsgRepeatTxChannel.1", smi::Oid{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 4, 2, 1, 4, 1},
                   smi::Value::of_number(smi::Type::no_such_instance, 0)};

ChangeRecord a_change() {
  ChangeRecord change;
  change.number = 42;
  change.kind = "rollback";
  change.of = "0041";
  change.who = "robin@desk";
  change.why = "the channel: too busy, \"again\"";
  change.approved = "kim@desk, 2026-11-25T01:00:00.000Z";
  change.fleet = "Larkmoor district";
  change.begun = sample_begun;
  change.ended = "2026-11-25T02:03:04.567Z";
  change.units = {{"LK-104", "settled", "", 3, 2300}, {"LK-105", "no answer", "no answer within 12 s", 0, 0}};
  change.files = {{"fleet.yaml", std::string(64, 'a')}, {"groups/signals.yaml", std::string(64, 'b')}};
  return change;
}

Snapshot a_snapshot() {
  const smi::Oid status{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 4, 2, 1, 11};
  Snapshot snapshot{"LK-104", "ntcip1218-v01", taken, engine_hex, true, {tolerance}, {}};
  snapshot.rows = {{"rsuMsgRepeatStatusTable", 9, status.child(9), true, {psid}},
                   {"rsuMsgRepeatStatusTable", 1, status.child(1), false, {}}};
  return snapshot;
}

Survey a_survey() {
  return {"LK-104", "ntcip1218-v01", taken, engine_hex, true, {tolerance, psid, channel}};
}

AuditedUnit drifted_sample() {
  AuditedUnit unit;
  unit.unit = "LK-104";
  unit.verdict = "drifted";
  unit.taken = taken;
  const AuditedItem deviation{
      "position-tolerance", tolerance, smi::Value::integer(15), "20000 m", "15 m", true, true,
      "fleet.yaml:4:3"};
  const AuditedItem notice{"psid", psid, std::nullopt, "0x83", "", false, false, ""};
  unit.differences = {
      {"position-tolerance", "value", "", 0, "fleet.yaml:4:3", true, {deviation}},
      {"store-and-repeat old-notice", "removed row", "rsuMsgRepeatStatusTable", 9, "", false, {notice}}};
  unit.obstacles = {"store-and-repeat: no free row"};
  unit.remarks = {{"not offered", "notify-port", "the unit does not offer rsuNotifyPort"}};
  unit.health = {{"satellites", "warning", "3 satellites", "common practice"}};
  unit.doors = {{"credential factory", FactoryTry::Result::opens, "2026-11-25T02:00:02.000Z"},
                {"community public", FactoryTry::Result::not_tried, ""}};
  unit.position = {54.8999, -20.0293, 6.7, 3.5, 120.0, ""};
  unit.counted.taken = milliseconds_of(taken).value();
  unit.counted.up = 86400;
  unit.counted.sent = {{"rsuMessageCountsByPsidCounts.1", 4711U}};
  unit.counted.restarts = {milliseconds_of("2026-11-24T02:00:00.000Z").value()};
  unit.ends = {{"application certificate", milliseconds_of("2026-12-01T02:00:00.000Z").value(), true, false},
               {"enrolment certificate", milliseconds_of("2027-01-01T02:00:00.000Z").value(), false, true}};
  return unit;
}

AuditRecord an_audit() {
  AuditRecord audit;
  audit.head = {"Larkmoor district",       "robin@desk", "2/4", {}, std::string(64, 'a'), sample_begun,
                "2026-11-25T02:00:05.000Z"};
  audit.head.choice.groups = {"signals"};
  audit.head.cut = "2027-03-01T02:00:00.000Z";
  AuditedUnit silent;
  silent.unit = "LK-105";
  silent.verdict = "no answer";
  silent.what = "no answer within 12 s";
  audit.units = {drifted_sample(), silent};
  return audit;
}

/// As thinning.h leaves it.
AuditRecord a_cut_audit() {
  AuditRecord audit;
  audit.head = an_audit().head;
  audit.head.cut = "2027-02-28T02:30:00.000Z";
  for (const AuditedUnit& whole : an_audit().units) {
    AuditedUnit unit;
    unit.unit = whole.unit;
    unit.verdict = whole.verdict;
    audit.units.push_back(unit);
  }
  return audit;
}

class StillClock : public Clock {
 public:
  std::int64_t now() const override { return milliseconds_of(taken).value(); }
};

std::string a_unit_log() {
  MemoryDisk disk;
  const StillClock clock;
  UnitLog log(disk, clock, "LK-104", "change 0042");
  log.line("SET rsuMode.0 = standby (2): done");
  log.line("no answer within 12 s");
  log.flush();
  return disk.files.at(unit_log_path("LK-104"));
}

std::string engines_text() {
  MemoryDisk disk;
  Engines engines = Engines::read(disk);
  engines.note("LK-104", {engine, 7, 1795000000});
  engines.keep(disk);
  return disk.files.at("engines.jsonl");
}

std::string notification_log_text() {
  MemoryDisk disk;
  const StillClock clock;
  NotificationLog log(disk, clock);
  const std::chrono::milliseconds at{0};
  const NotificationLog::Line down{
      "linkDown", "notification linkDown: ifIndex.3 = 3; an interface goes out of service (trap)", false};
  log.add("LK-104", down, at);
  log.add("LK-104", down, at);
  log.add("LK-104", {"coldStart", "notification coldStart: it has started anew (inform)", true}, at);
  log.note("LK-104", "audit: agrees");
  log.close_minutes(at, true, [](const std::string&, const std::string&) {});
  log.flush();
  return disk.files.at(unit_log_path("LK-104"));
}

const Holder lock_holder{"robin@desk", "apply", sample_begun, 4711};

std::string own_engine_text() {
  MemoryDisk disk;
  REQUIRE(start_own_engine(disk, [] { return engine; }));
  return disk.files.at("listen/engine.json");
}

const std::string sample_certificate = "sha256:" + std::string(64, 'c');
const std::string certificate_after = "sha256:" + std::string(64, 'd');

std::string known_units_text() {
  MemoryDisk disk;
  KnownUnits known = KnownUnits::read(disk);
  known.met(disk, "LK-104", {engine, {}}, sample_begun);
  known.met(disk, "LK-105", {{}, sample_certificate}, sample_begun);
  known.keep(disk);
  known.accept({"LK-104", "LK-105"}, "robin@desk");
  known.met(disk, "LK-104", {other_engine, {}}, taken);
  known.met(disk, "LK-105", {{}, certificate_after}, taken);
  return disk.files.at("known-units.jsonl");
}

std::string factory_text() {
  MemoryDisk disk;
  const std::int64_t now = milliseconds_of(taken).value();
  FactoryTries tries = FactoryTries::read(disk, "LK-104");
  tries.begin(disk, "credential factory", now);
  tries.end(disk, "credential factory", FactoryTry::Result::opens);
  tries.begin(disk, "community private", now);
  tries.end(disk, "community private", FactoryTry::Result::refused);
  tries.begin(disk, "community public", now);
  return disk.files.at("units/LK-104.factory.jsonl");
}

StoredKeys some_keys(const std::string& id, StoredKeys::State state) {
  StoredKeys keys;
  keys.id = id;
  keys.unit = "LK-104";
  keys.credential = "own";
  keys.change = 42;
  keys.state = state;
  keys.user = "vergeset";
  keys.engine_id = engine;
  keys.auth = "SHA-256";
  keys.auth_key = std::string(32, 'a');
  keys.privacy = "AES-128";
  keys.privacy_key = std::string(16, 'p');
  return keys;
}

const std::string old_id = "00000000000000aa";
const std::string new_id = "00000000000000bb";

std::string key_store_text() {
  MemoryDisk disk;
  DiskKeyPlace place(disk, "larkmoor.keys");
  auto store = KeyStore::open(place);
  REQUIRE(store);
  KeyStore keys = *std::move(store);
  keys.add(some_keys(old_id, StoredKeys::State::before));
  keys.add(some_keys(new_id, StoredKeys::State::made));
  keys.mark(new_id, StoredKeys::State::opens, 7);
  keys.mark_survived(new_id);
  keys.add(some_keys("00000000000000dd", StoredKeys::State::made));
  keys.mark("00000000000000dd", StoredKeys::State::unused, 0);
  keys.add_shared("00000000000000cc", "shared", "vergeset", "invented-auth", "invented-privacy");
  keys.sync();
  return disk.files.at("larkmoor.keys");
}

const PoleAnswer antennas{"antennas", "yes", "one was \"loose\"", "A. Fitter", taken};
const StageDone applied{"apply",
                        true,
                        "settled",
                        7,
                        {{"notify-address", "::", "192.0.2.10"}},
                        {{"bond", "warning", "no bond", "common practice"}},
                        {{"firmware", "4.2.0"}},
                        "fitter@van",
                        taken};

std::string commissioning_text() {
  MemoryDisk disk;
  auto opened = Commissioning::open(disk, "LK-104");
  REQUIRE(opened);
  Commissioning record = *std::move(opened);
  record.begin(disk, "fitter@van", sample_begun);
  record.add(disk, antennas);
  record.add(disk, applied);
  record.end(disk, "fitter@van", taken);
  return disk.files.at("commissioning/LK-104/0001.jsonl");
}

}  // namespace

TEST_CASE("what each kind of record is written as now is its newest sample") {
  is_newest("change", to_yaml(a_change()));
  is_newest("snapshot", to_yaml(a_snapshot()));
  is_newest("survey", to_yaml(a_survey()));
  is_newest("audit", to_json(an_audit()));
  is_newest("cut-audit", to_json(a_cut_audit()));
  is_newest("unit-log", a_unit_log());
  is_newest("notification-log", notification_log_text());
  is_newest("holder", to_yaml(lock_holder));
  is_newest("engines", engines_text());
  is_newest("own-engine", own_engine_text());
  is_newest("known-units", known_units_text());
  is_newest("factory", factory_text());
  is_newest("keys", key_store_text());
  is_newest("commissioning", commissioning_text());
}

TEST_CASE("changes of every version are read, with all that they said") {
  for (const auto& [version, text] : versions_of("change")) {
    INFO("change-" << version);
    const auto read = change_from_yaml(text);
    REQUIRE(read);
    ChangeRecord expected = a_change();
    if (version < 3) expected.approved.clear();  // nobody approved before there were approvals
    CHECK(to_yaml(*read) == to_yaml(expected));
  }
}

TEST_CASE("snapshots of every version are read, with every value exact") {
  for (const auto& [version, text] : versions_of("snapshot")) {
    INFO("snapshot-" << version);
    const auto read = snapshot_from_yaml(text);
    if (!read) FAIL(read.problem());
    Snapshot expected = a_snapshot();
    expected.on_air = version > 1;  // the first did not say: a restore asks for the mode that it holds
    CHECK(*read == expected);
  }
}

TEST_CASE("surveys of every version are read, with every value exact") {
  for (const auto& [version, text] : versions_of("survey")) {
    INFO("survey-" << version);
    const auto read = survey_from_yaml(text);
    REQUIRE(read);
    CHECK(*read == a_survey());
  }
}

TEST_CASE("audits that were cut because of their age are read: how each unit stood") {
  for (const auto& [version, text] : versions_of("cut-audit")) {
    INFO("cut-audit-" << version);
    const auto read = audit_from_json(text);
    REQUIRE(read);
    CHECK(*read == a_cut_audit());
  }
}

TEST_CASE("audits of every version are read, and lack what their version did not keep alone") {
  for (const auto& [version, text] : versions_of("audit")) {
    INFO("audit-" << version);
    const auto read = audit_from_json(text);
    if (!read) FAIL(read.problem());
    AuditRecord expected = an_audit();
    AuditedUnit& unit = expected.units[0];
    if (version < 7) expected.head.cut.clear();
    if (version < 6) unit.ends.clear();
    if (version < 5) unit.position = {};
    if (version < 5) unit.counted = {};
    if (version < 4) unit.health = {{"", "", "3 satellites", "common practice"}};
    if (version < 3) unit.doors.clear();
    if (version < 2) {
      const AuditedItem& whole = unit.differences[0].items[0];
      const AuditedItem item{whole.setting,       whole.as_found, whole.desired, whole.as_found_words,
                             whole.desired_words, false,          false,         ""};
      unit.taken.clear();
      unit.differences = {{"position-tolerance", "value", "", 0, "", false, {item}}};
      unit.remarks = {{"", "", "notify-port is not offered"}};
      unit.health = {{"", "", "3 satellites", ""}};
      expected.head.part.clear();
      expected.head.files.clear();
      expected.head.choice = {};
    }
    CHECK(*read == expected);
  }
}

TEST_CASE("who has a lock is read of every version, also by one who comes after an upgrade") {
  for (const auto& [version, text] : versions_of("holder")) {
    INFO("holder-" << version);
    CHECK(held_by(text) == "robin@desk (apply, since 2026-11-25T02:00:00.000Z, process 4711)");
  }
}

TEST_CASE("caches and tables of units of every version are read") {
  for (const auto& [version, text] : versions_of("engines")) {
    MemoryDisk disk;
    disk.files["engines.jsonl"] = text;
    const auto known = Engines::read(disk).find("LK-104");
    REQUIRE(known);
    CHECK(known->id == engine);
    CHECK(known->boots == 7);
    CHECK(known->started == 1795000000);
  }
  for (const auto& [version, text] : versions_of("own-engine")) {
    MemoryDisk disk;
    disk.files["listen/engine.json"] = text;
    const auto own = start_own_engine(disk, [] { return other_engine; });
    REQUIRE(own);
    CHECK(own->id == engine);
    CHECK(own->boots == 2);
  }
  for (const auto& [version, text] : versions_of("known-units")) {
    INFO("known-units-" << version);
    MemoryDisk disk;
    disk.files["known-units.jsonl"] = text;
    const KnownUnits known = KnownUnits::read(disk);
    CHECK(known.unreadable() == 0);
    CHECK(known.expected("LK-104") == other_engine);
    CHECK(known.find("LK-104")->who == "robin@desk");
    // The first knew no certificates, and the second has none that was replaced.
    CHECK(known.expected_certificate("LK-105") == (version > 2   ? certificate_after
                                                   : version > 1 ? sample_certificate
                                                                 : std::string()));
  }
  for (const auto& [version, text] : versions_of("factory")) {
    MemoryDisk disk;
    disk.files["units/LK-104.factory.jsonl"] = text;
    const auto recent = FactoryTries::read(disk, "LK-104")
                            .recent("credential factory", milliseconds_of(taken).value() + 1000);
    REQUIRE(recent);
    CHECK(recent->result == FactoryTry::Result::opens);
    const auto of = [&](const std::string& name) {
      const auto one = FactoryTries::read(disk, "LK-104").recent(name, milliseconds_of(taken).value() + 1000);
      return std::string(one ? result_name(one->result) : "");
    };
    CHECK(of("community public") == "not told");
    if (version > 1) CHECK(of("community private") == "refused");
  }
}

TEST_CASE("key stores of every version open units, octet for octet") {
  for (const auto& [version, text] : versions_of("keys")) {
    INFO("keys-" << version);
    MemoryDisk disk;
    disk.files["larkmoor.keys"] = text;
    DiskKeyPlace place(disk, "larkmoor.keys");
    auto store = KeyStore::open(place);
    REQUIRE(store);
    const auto current = store->current("LK-104", "own");
    REQUIRE(current);
    CHECK(current->same_keys(some_keys(new_id, StoredKeys::State::opens)));
    CHECK(current->survived);
    CHECK(current->change == 42);
    CHECK(current->boots == 7);
    const auto all = store->of("LK-104");
    REQUIRE(all.size() == (version > 1 ? 3U : 2U));
    if (version > 1) CHECK(all.front().state == StoredKeys::State::unused);
    CHECK(all.back().state == StoredKeys::State::before);
  }
}

TEST_CASE("records of commissionings of every version are read to their end") {
  for (const auto& [version, text] : versions_of("commissioning")) {
    INFO("commissioning-" << version);
    MemoryDisk disk;
    // Without its last line it has not ended, and is gone on with.
    const auto last = text.rfind('\n', text.size() - 2);
    disk.files["commissioning/LK-104/0001.jsonl"] = text.substr(0, last + 1);
    const auto read = Commissioning::open(disk, "LK-104");
    REQUIRE(read);
    CHECK(read->number() == 1);
    REQUIRE(read->answer("antennas") != nullptr);
    CHECK(*read->answer("antennas") == antennas);
    REQUIRE(read->stage("apply") != nullptr);
    CHECK(*read->stage("apply") == applied);
    disk.files["commissioning/LK-104/0001.jsonl"] = text;
    const auto next = Commissioning::open(disk, "LK-104");
    REQUIRE(next);
    CHECK(next->number() == 2);
  }
}
