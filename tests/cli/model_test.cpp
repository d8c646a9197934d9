#include <fmt/format.h>

#include <cstdio>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include "catch.h"
#include "facts_mib.h"
#include "fleet/fleet.h"
#include "program.h"
#include "schema/model.h"
#include "schema/scratch.h"
#include "smi/form.h"
#include "smi/units.h"
#include "translated.h"

using namespace vergeset;
using namespace vergeset::tests;
using schema::Model;
using schema::Object;
using schema::Schema;
using schema::Scratch;
using schema::Table;

namespace {

/// A model file of MIB files in a folder of model files, and what the loader makes of it.
struct MadeModel {
  Scratch scratch;
  Ran ran;
  std::string text;
  Schema schema;
  std::string faults;
  const Model* model = nullptr;

  explicit MadeModel(const std::vector<std::string>& files, const std::vector<std::string>& more = {}) {
    std::filesystem::create_directories(scratch.path("models"));
    std::vector<std::string> words{"model", "from-mib"};
    words.insert(words.end(), files.begin(), files.end());
    words.insert(words.end(), more.begin(), more.end());
    words.insert(words.end(), {"--json", "--name", "made", "--out", scratch.path("models/made.yaml")});
    ran = run(words);
    if (ran.status != 0) return;
    std::ifstream file(scratch.path("models/made.yaml"));
    text.assign(std::istreambuf_iterator<char>(file), {});
    Faults found;
    schema = schema::load_schema(SOURCE_DIR "/schemas", scratch.path("models"), found);
    for (const Fault& fault : found.sorted()) faults += fault.str() + "\n";
    model = schema.model("made");
  }
};

std::string written(const Scratch& scratch, const std::string& name, const std::string& text) {
  return scratch.write(name, text);
}

const smi::Oid old_root{1, 0, 15628, 4, 1};

/// All of an object that a MIB can tell, in words.
std::string told(const Object& object, bool smi_v1) {
  std::string access = std::to_string(static_cast<int>(object.access));
  if (smi_v1 && object.access == schema::Access::read_create)
    access = std::to_string(static_cast<int>(schema::Access::read_write));
  return fmt::format("{} {} {} access {} unit {} default {} table {}", object.name, object.oid.str(),
                     object.syntax.str(), access, smi_v1 ? "" : object.unit,
                     object.initial ? smi::to_text(object.syntax, *object.initial) : "none",
                     object.table != nullptr ? object.table->name : "none");
}

std::string told(const Table& table) {
  std::string text =
      fmt::format("{} {} {} index {} {}..{} status {} edit {}", table.name, table.oid.str(),
                  table.entry.str(), table.index, table.index_range.low, table.index_range.high,
                  table.status != nullptr ? table.status->name : "none", static_cast<int>(table.edit));
  for (const Object* column : table.columns) text += " " + column->name;
  return text;
}

void check_like_ours(Smi smi) {
  const Scratch scratch;
  FactsMib mib(schema::facts_of("rsu-4.1"), old_root, smi);
  const MadeModel made({written(scratch, "LARKMOOR-FACTS-MIB.txt", mib.text())});
  INFO(made.ran.err << made.faults);
  REQUIRE(made.ran.status == 0);
  REQUIRE(made.faults.empty());
  const Model& ours = *schema::shipped().model("rsu-4.1");
  CHECK(made.model->root == ours.root);
  CHECK(made.model->objects.size() == ours.objects.size());
  CHECK(made.model->tables.size() == ours.tables.size());
  const bool old = smi == Smi::v1;
  std::size_t compared = 0;
  for (const auto& [name, object] : ours.objects) {
    INFO(name);
    REQUIRE(made.model->object(name) != nullptr);
    CHECK(told(*made.model->object(name), old) == told(object, old));
    if (object.oid.within(ours.root)) ++compared;
  }
  for (const auto& [name, table] : ours.tables) {
    INFO(name);
    REQUIRE(made.model->table(name) != nullptr);
    CHECK(told(*made.model->table(name)) == told(table));
    ++compared;
  }
  CHECK(compared == 119);  // as many lines as tests/facts/rsu-4.1-objects.csv has
  REQUIRE(made.model->mode.has_value());
  CHECK(made.model->mode->asked->name == "rsuMode");
  CHECK(made.model->mode->operate == ours.mode->operate);
}

/// The types that snmptranslate may print for a form of ours.
bool same_type(const Object& object, const Translated& theirs) {
  using enum smi::Form;
  const std::string& type = theirs.type;
  const bool is_index = object.table != nullptr && object.table->index == object.name;
  switch (object.syntax.form) {
    case integer:
      return type == "INTEGER" || type == "Integer32" ||
             (is_index && (type == "Unsigned32" || type == "Gauge32"));
    case enumeration:
      return type == "INTEGER" && !theirs.labels.empty();
    case row_status:
      return type == "INTEGER" && theirs.convention == "RowStatus";
    case bits:
      return type == "BITS";
    case counter:
      return type == "Counter32";
    case counter64:
      return type == "Counter64";
    case gauge:
      return type == "Gauge32" || type == "Unsigned32";
    case time_ticks:
      return type == "TimeTicks";
    case object_id:
      return type == "OBJECT IDENTIFIER";
    case ip_address:
      return type == "IpAddress" || type == "NetworkAddress";
    case mac:
      return type == "OCTET STRING" && theirs.convention == "MacAddress";
    case date_time:
      return type == "OCTET STRING" && theirs.convention == "DateAndTime";
    default:
      return type == "OCTET STRING";
  }
}

void check_limits(const Object& object, const Translated& theirs) {
  const smi::Syntax& ours = object.syntax;
  if (!ours.words.empty()) {
    CHECK(ours.words == theirs.labels);
    return;
  }
  if (!theirs.labels.empty()) CHECK(smi::labels_of(ours) == theirs.labels);
  if (smi::rule_of(ours.form).bound == smi::Bound::nothing) return;
  if (ours.form == smi::Form::octet_number) {  // RSU 4.1's one octet
    CHECK(smi::ranges_text(theirs.ranges) == "1");
    return;
  }
  if (theirs.ranges.empty()) {
    CHECK(ours.ranges.empty());
  } else {
    std::vector<smi::Range> ranges = theirs.ranges;
    // A model counts indexes as Integer32, so an Unsigned32 is cut there.
    const bool is_index = object.table != nullptr && object.table->index == object.name;
    if (is_index) ranges.back().high = std::min<std::int64_t>(ranges.back().high, 2147483647);
    CHECK(smi::ranges_of(ours) == ranges);
  }
}

std::string_view access_told(const Object& object) {
  switch (object.access) {
    case schema::Access::read_only:
      return "read-only";
    case schema::Access::read_write:
      return "read-write";
    case schema::Access::read_create:
      return "read-create";
    case schema::Access::not_accessible:
      break;
  }
  return "not-accessible";
}

void check_object(const Object& object, const Translated& theirs) {
  INFO(theirs.type << " " << smi::ranges_text(theirs.ranges) << " here " << object.syntax.str());
  CHECK(object.name == theirs.name);
  CHECK(same_type(object, theirs));
  check_limits(object, theirs);
  const bool notify = theirs.access == "accessible-for-notify";
  CHECK(access_told(object) == (notify ? "not-accessible" : theirs.access));
  CHECK(object.unit == (smi::measure_of(theirs.units) ? theirs.units : ""));
}

/// Whether what snmptranslate says of a table bears out that a model cannot hold it.
void check_left_out(const std::string& why, const Translated& theirs, const Translated* row) {
  INFO(why << ": " << theirs.type << " " << (row != nullptr ? row->index : ""));
  if (why.find("Opaque") != why.npos) {
    CHECK(theirs.type == "Opaque");
  } else if (why.find(" indexes (") != why.npos) {
    REQUIRE(row != nullptr);
    CHECK(row->index.find(',') != row->index.npos);
  } else if (why.find("AUGMENTS") != why.npos) {
    REQUIRE(row != nullptr);
    CHECK_FALSE(row->augments.empty());
  } else if (why.find("is no column of it") != why.npos || why.find("is no number but") != why.npos) {
    REQUIRE(row != nullptr);
    CHECK(row->index.find(',') == row->index.npos);
  } else {
    CHECK(why == "a reason that snmptranslate can tell of");
  }
}

struct Agreed {
  std::size_t in_model = 0;
  std::size_t left_out = 0;
};

/// Every object type that snmptranslate finds in the module of a file is in the model as it says, or left out
/// for a reason.
void check_agreement(const std::string& file, const std::string& module, const std::string& folders,
                     Agreed& agreed) {
  const auto theirs = translated(folders, module);
  if (theirs.empty()) return;
  const MadeModel made({file});
  INFO(module << made.ran.err << made.faults);
  if (made.ran.status != 0) {
    // Nothing of it fits into a model: then all of it is rows of other tables.
    CHECK_THAT(made.ran.err, Catch::Contains("no object that a model can hold"));
    for (const auto& [oid, object] : theirs) CHECK_FALSE(object.access.empty());
    agreed.left_out += theirs.size();
    return;
  }
  REQUIRE(made.faults.empty());
  std::map<smi::Oid, std::string> left;
  const auto document = nlohmann::json::parse(made.ran.out);
  for (const auto& one : document.at("left_out"))
    left[*smi::Oid::parse(one.at("oid").get<std::string>())] = one.at("why").get<std::string>();
  std::map<smi::Oid, const Object*> objects;
  std::map<smi::Oid, const Table*> tables;
  for (const auto& [name, object] : made.model->objects) objects[object.oid] = &object;
  for (const auto& [name, table] : made.model->tables) tables[table.oid] = &table;
  for (const auto& [oid, object] : theirs) {
    INFO(object.name << " " << oid.str());
    const auto row = theirs.find(oid.child(1));
    if (const auto why = left.find(oid); why != left.end()) {
      check_left_out(why->second, object, row != theirs.end() ? &row->second : nullptr);
      ++agreed.left_out;
    } else if (const auto ours = objects.find(oid); ours != objects.end()) {
      check_object(*ours->second, object);
      ++agreed.in_model;
    } else if (const auto table = tables.find(oid); table != tables.end()) {
      CHECK(table->second->name == object.name);
      REQUIRE(row != theirs.end());
      CHECK(row->second.index == "{ " + table->second->index + " }");
      ++agreed.in_model;
    } else {
      // The row of a table, or something of a table that was left out.
      const bool known = tables.count(oid.parent()) == 1 || left.count(oid.parent()) == 1 ||
                         (oid.size() > 2 && left.count(oid.parent().parent()) == 1);
      CHECK(known);
      if (tables.count(oid.parent()) == 0) ++agreed.left_out;
    }
  }
}

}  // namespace

TEST_CASE("a model made of an SMIv2 MIB of RSU 4.1's objects has every object as the shipped one has it") {
  check_like_ours(Smi::v2);
}

TEST_CASE("a model made of an SMIv1 MIB of them has them too, but for what SMIv1 cannot say") {
  // RFC 1212: no UNITS and no read-create
  check_like_ours(Smi::v1);
}

TEST_CASE("models made of the MIBs that net-snmp ships agree with snmptranslate in every object") {
  const std::string shipped = "/usr/share/snmp/mibs";
  Agreed agreed;
  for (const auto& entry : std::filesystem::directory_iterator(shipped)) {
    if (!entry.is_regular_file()) continue;
    const std::string module = entry.path().stem().string();
    check_agreement(entry.path().string(), module, SOURCE_DIR "/schemas/mibs:" + shipped, agreed);
  }
  // Debian 12's thirteen files (libsnmp-base 5.9.3).
  CHECK(agreed.in_model >= 220);
  CHECK(agreed.left_out >= 40);
}

TEST_CASE("models made of the modules of both standards' lists agree with snmptranslate in every object") {
  const std::string folder = SOURCE_DIR "/tests/schema/mibs";
  Agreed agreed;
  for (const char* module : {"NTCIP1218-TEST", "RSU41-TEST"}) {
    check_agreement(folder + "/" + module + ".txt", module, SOURCE_DIR "/schemas/mibs:" + folder, agreed);
  }
  CHECK(agreed.in_model == 243 + 119);
  CHECK(agreed.left_out == 0);
}

namespace {

/// A MIB with a bit of everything that a model file has a word for.
const std::string many_kinds =
    "LARKMOOR-MIB DEFINITIONS ::= BEGIN\n"
    "IMPORTS OBJECT-TYPE, Integer32, Unsigned32, enterprises FROM SNMPv2-SMI\n"
    "    DisplayString, TestAndIncr, TruthValue, RowStatus FROM SNMPv2-TC;\n"
    "larkmoor OBJECT IDENTIFIER ::= { enterprises 99999 }\n"
    "verge OBJECT IDENTIFIER ::= { larkmoor 1 }\n"
    "kerb OBJECT IDENTIFIER ::= { larkmoor 2 }\n"
    "vergeReboot OBJECT-TYPE SYNTAX INTEGER { no(0), yes(1) } MAX-ACCESS read-write STATUS current\n"
    "    DESCRIPTION \"makes it start anew\" ::= { verge 1 }\n"
    "vergeLock OBJECT-TYPE SYNTAX TestAndIncr MAX-ACCESS read-write STATUS current\n"
    "    DESCRIPTION \"a lock\" ::= { verge 2 }\n"
    "vergeName OBJECT-TYPE SYNTAX DisplayString (SIZE (0..20)) MAX-ACCESS read-write STATUS current\n"
    "    DESCRIPTION \"a name; it is taken in standby only\" DEFVAL { \"nameless\" } ::= { verge 3 }\n"
    "on OBJECT-TYPE SYNTAX Unsigned32 (0..4294967295) UNITS \"furlongs\" MAX-ACCESS read-only\n"
    "    STATUS deprecated DESCRIPTION \"far\" ::= { verge 4 }\n"
    "kerbTable OBJECT-TYPE SYNTAX SEQUENCE OF KerbEntry MAX-ACCESS not-accessible STATUS current\n"
    "    DESCRIPTION \"\" ::= { kerb 1 }\n"
    "kerbEntry OBJECT-TYPE SYNTAX KerbEntry MAX-ACCESS not-accessible STATUS current\n"
    "    DESCRIPTION \"\" INDEX { kerbSide } ::= { kerbTable 1 }\n"
    "KerbEntry ::= SEQUENCE { kerbSide INTEGER, kerbLow TruthValue, kerbState RowStatus }\n"
    "kerbSide OBJECT-TYPE SYNTAX INTEGER { left(1), right(2) } MAX-ACCESS not-accessible STATUS current\n"
    "    DESCRIPTION \"\" ::= { kerbEntry 1 }\n"
    "kerbLow OBJECT-TYPE SYNTAX TruthValue MAX-ACCESS read-create STATUS current\n"
    "    DESCRIPTION \"\" DEFVAL { false } ::= { kerbEntry 2 }\n"
    "kerbState OBJECT-TYPE SYNTAX RowStatus MAX-ACCESS read-create STATUS current\n"
    "    DESCRIPTION \"\" ::= { kerbEntry 3 }\n"
    "END\n";

/// The line of a text that has `words` in it, and the one before.
std::string line_with(const std::string& text, const std::string& words) {
  const std::size_t at = text.find(words);
  if (at == text.npos) return "";
  const std::size_t begin = text.rfind('\n', at);
  const std::size_t before = begin == text.npos || begin == 0 ? 0 : text.rfind('\n', begin - 1);
  return text.substr(before + 1, text.find('\n', at) - before - 1);
}

}  // namespace

TEST_CASE("what can be set is marked for review, with the word of the MIB that points to a trait") {
  const Scratch scratch;
  const MadeModel made({scratch.write("LARKMOOR-MIB.txt", many_kinds)});
  REQUIRE(made.faults.empty());
  CHECK_THAT(line_with(made.text, "vergeReboot: {"),
             Catch::Contains("review: traits (\"reboot\" in its name may mean action)"));
  CHECK_THAT(line_with(made.text, "vergeName: {"),
             Catch::Contains("review: traits (\"standby\" in its description may mean needs-standby)"));
  CHECK_THAT(line_with(made.text, "kerbLow: {"), Catch::Contains("review: traits"));
  CHECK_THAT(line_with(made.text, "kerbTable:"), Catch::Contains("review: traits of the table"));
  CHECK_THAT(line_with(made.text, "recognise: {"), Catch::Contains("vergeReboot"));
  // No trait is set that the MIB does not tell: TestAndIncr is a lock (RFC 2579).
  for (const auto& [name, object] : made.model->objects) {
    INFO(name);
    CHECK(object.traits.action == (name == "vergeLock" || name == "snmpSetSerialNo"));
    CHECK_FALSE(object.traits.needs_standby);
    CHECK_FALSE(object.traits.cuts_off);
  }
  CHECK(made.text.find("start anew") == made.text.npos);  // descriptions are others' texts
}

TEST_CASE("units, defaults, odd names and indexes of a MIB are taken over as far as a model has them") {
  const Scratch scratch;
  const MadeModel made({scratch.write("LARKMOOR-MIB.txt", many_kinds)});
  REQUIRE(made.faults.empty());
  const Object& far = *made.model->object("on");
  CHECK(far.unit.empty());
  CHECK(smi::ranges_of(far.syntax) == std::vector<smi::Range>{{0, 4294967295}});
  CHECK_THAT(line_with(made.text, "\"on\": {"),
             Catch::Contains("counts in \"furlongs\"") && Catch::Contains("deprecated"));
  const Object& name = *made.model->object("vergeName");
  CHECK(smi::to_text(name.syntax, *name.initial) == "nameless");
  CHECK(smi::to_text(made.model->object("kerbLow")->syntax, *made.model->object("kerbLow")->initial) ==
        "false");
  const Table& table = *made.model->table("kerbTable");
  CHECK(table.index == "kerbSide");
  CHECK(table.index_range == smi::Range{1, 2});
  CHECK(table.status->name == "kerbState");
  CHECK(made.model->object("kerbSide")->syntax.words == std::vector<smi::Label>{{"left", 1}, {"right", 2}});
}

TEST_CASE("a part is taken with --root by name or by identifier, and no part of a table") {
  const Scratch scratch;
  const std::string mib = scratch.write("LARKMOOR-MIB.txt", many_kinds);
  for (const std::string root : {"kerb", "1.3.6.1.4.1.99999.2", "kerbTable"}) {
    const MadeModel made({mib}, {"--root", root});
    INFO(root << made.ran.err << made.faults);
    REQUIRE(made.model != nullptr);
    CHECK(made.model->table("kerbTable") != nullptr);
    CHECK(made.model->object("vergeName") == nullptr);
  }
  const MadeModel one({mib}, {"--root", "vergeName"});
  REQUIRE(one.model != nullptr);
  CHECK(one.model->object("vergeName")->oid.str() == "1.3.6.1.4.1.99999.1.3");
  CHECK_THAT(run({"model", "from-mib", mib, "--root", "kerbLow"}).err, Catch::Contains("name the table"));
  CHECK_THAT(run({"model", "from-mib", mib, "--root", "kreb"}).err, Catch::Contains("did you mean kerb?"));
}

TEST_CASE("several files make one model, imports beside them are found, and a file is never written over") {
  const Scratch scratch;
  const std::string mib = scratch.write("LARKMOOR-MIB.txt", many_kinds);
  const std::string more = scratch.write(
      "gantry.mib",
      "LARKMOOR-GANTRY-MIB DEFINITIONS ::= BEGIN\nIMPORTS larkmoor FROM LARKMOOR-MIB;\n"
      "gantryWidth OBJECT-TYPE SYNTAX INTEGER (0..100) UNITS \"m\" MAX-ACCESS read-only STATUS current\n"
      "    DESCRIPTION \"\" ::= { larkmoor 3 }\nEND\n");
  const MadeModel alone({more});
  REQUIRE(alone.model != nullptr);
  CHECK(alone.model->object("gantryWidth")->unit == "m");
  CHECK(alone.model->object("vergeName") == nullptr);
  const MadeModel both({more, mib});
  REQUIRE(both.model != nullptr);
  CHECK(both.model->object("gantryWidth") != nullptr);
  CHECK(both.model->object("vergeName") != nullptr);
  const std::string out = scratch.write("there.yaml", "mine\n");
  const Ran ran = run({"model", "from-mib", mib, "--out", out});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Catch::Contains("is there already"));
}

TEST_CASE("a model made of a MIB stands in a fleet's models and its objects can be asked for") {
  const Scratch scratch;
  const std::string mib = scratch.write("LARKMOOR-MIB.txt", many_kinds);
  std::filesystem::create_directories(scratch.path("fleet/models"));
  REQUIRE(run({"model", "from-mib", mib, "--name", "mk3", "--out", scratch.path("fleet/models/mk3.yaml")})
              .status == 0);
  scratch.write(
      "fleet/fleet.yaml",
      "fleet: Larkmoor\ncredentials:\n"
      "  c: {user: u, auth-secret: {env: A_SECRET}, privacy-secret: {env: P_SECRET}}\ncredential: c\n");
  scratch.write("fleet/units.yaml",
                "units:\n  LK-1:\n    model: mk3\n    address: 127.0.0.1\n    settings: {vergeName: north}\n"
                "    tables: {kerbTable: {rows: {near: {index: 1, kerbLow: true}}}}\n");
  const Ran ran = run({"where", "LK-1", "vergeName", "--fleet", scratch.path("fleet")});
  INFO(ran.out << ran.err);
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Catch::Contains("north"));
}
