#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "catch.h"
#include "program.h"
#include "report/notification_text.h"
#include "schema/facts.h"
#include "schema/scratch.h"
#include "translated.h"

using namespace vergeset;
using namespace vergeset::tests;
using schema::Model;
using schema::Scratch;

namespace {

const std::string mibs = SOURCE_DIR "/tests/schema/mibs";
const std::string bell = mibs + "/LARKMOOR-BELL-MIB.txt";
const std::string old_bell = mibs + "/LARKMOOR-OLD-BELL-MIB.txt";
const smi::Oid bell_oid{1, 3, 6, 1, 4, 1, 99999, 7};
const smi::Oid old_bell_oid{1, 3, 6, 1, 4, 1, 99999, 8};

/// What `model from-mib` makes of files, and what the loader of a fleet's models/ makes of that.
struct Written {
  Scratch scratch;
  Ran ran;
  std::string text;
  schema::Schema schema;
  std::string faults;
  const Model* model = nullptr;

  explicit Written(std::vector<std::string> words) {
    std::filesystem::create_directories(scratch.path("models"));
    words.insert(words.begin(), {"model", "from-mib"});
    words.insert(words.end(), {"--name", "made", "--out", scratch.path("models/made.yaml")});
    ran = run(words);
    INFO(ran.err);
    REQUIRE(ran.status == 0);
    std::ifstream file(scratch.path("models/made.yaml"));
    text.assign(std::istreambuf_iterator<char>(file), {});
    Faults found;
    schema = schema::load_schema(SOURCE_DIR "/schemas", scratch.path("models"), found);
    for (const Fault& fault : found.sorted()) faults += fault.str() + "\n";
    INFO(faults);
    REQUIRE(faults.empty());
    model = schema.model("made");
  }

  std::string name_at(const smi::Oid& id) const {
    const auto found = model->notifications.find(id);
    return found == model->notifications.end() ? "" : found->second.name;
  }

  std::string line(const smi::Oid& id, const std::vector<snmp::VarBind>& variables) const {
    const snmp::Notification notification{snmp::Notification::Kind::trap, id, 0, variables};
    return report::notification_words(*model, notification).line;
  }
};

/// A module of one object and what follows.
std::string small_module(const std::string& more) {
  return "LARKMOOR-MIB DEFINITIONS ::= BEGIN\n"
         "IMPORTS enterprises, OBJECT-TYPE, NOTIFICATION-TYPE FROM SNMPv2-SMI;\n"
         "larkmoor OBJECT IDENTIFIER ::= { enterprises 99999 }\n"
         "verge OBJECT-TYPE SYNTAX INTEGER (0..9) MAX-ACCESS read-write STATUS current\n"
         "    DESCRIPTION \"\" ::= { larkmoor 1 }\n" +
         more + "\nEND\n";
}

std::string notification(const std::string& name, const std::string& clauses, const std::string& place) {
  return name + " NOTIFICATION-TYPE " + clauses + " ::= { " + place + " }\n";
}

/// Its snmpTrapOID as net-snmp reads it.
std::string as_net_snmp_names(const std::string& module, const std::string& name) {
  const std::string folders = SOURCE_DIR "/schemas/mibs:" + mibs + ":/usr/share/snmp/mibs";
  const std::string text =
      output_of(fmt::format("snmptranslate -M '{}' -m {} -On {}::{}", folders, module, module, name));
  return text.substr(1, text.find('\n') - 1);
}

}  // namespace

TEST_CASE("a model made of a MIB names its notifications, but for obsolete ones") {
  const Written made({bell});
  // RFC 2578 8: the identifier of a NOTIFICATION-TYPE is its snmpTrapOID
  CHECK(made.name_at(bell_oid.child(0).child(1)) == "bellDoorMoved");
  CHECK(made.name_at(bell_oid.child(0).child(2)).empty());  // STATUS obsolete
  CHECK(made.name_at(bell_oid.child(0).child(3)) == "bellLineDead");
  CHECK(made.model->notifications.size() == schema::shipped().model("rsu-4.1")->notifications.size() + 2);
  CHECK_THAT(made.ran.err, Catch::Contains("2 notifications"));
}

TEST_CASE("what notifications bring is listed where the model does not have it, each once") {
  const Written made({bell});
  const auto told = [&](const smi::Oid& type) {
    const auto found = made.model->told.find(type);
    return found == made.model->told.end() ? "" : found->second.name + " " + found->second.syntax.str();
  };
  // Of a table with two indexes, which no model holds, and of IF-MIB (RFC 2863).
  CHECK(told(bell_oid.join({1, 3, 1, 3})) == "bellLineState INTEGER { live(1), dead(2) }");
  CHECK(told({1, 3, 6, 1, 2, 1, 2, 2, 1, 1}) == "ifIndex Integer32 (1..2147483647)");
  // Objects of the model, one of them accessible-for-notify, are not said again.
  CHECK(told(bell_oid.join({1, 1})).empty());
  CHECK(told(bell_oid.join({1, 2})).empty());
  CHECK(made.model->object("bellDoor") != nullptr);
  CHECK(made.model->object("bellWho") != nullptr);
}

TEST_CASE("a TRAP-TYPE has the identifier that RFC 3584 gives it") {
  const Written made({old_bell});
  // RFC 3584 2.1.2 and 3.1: ENTERPRISE, 0, the number; and the generic traps by snmpTraps of RFC 3418
  CHECK(made.name_at(old_bell_oid.join({0, 12})) == "oldBellLampOut");
  CHECK(made.name_at({1, 3, 6, 1, 6, 3, 1, 1, 5, 1}) == "coldStart");
  CHECK_THAT(made.ran.err, Catch::Contains("left out: oldBellStarted: coldStart has this object identifier"));
  CHECK(made.line(old_bell_oid.join({0, 12}), {{old_bell_oid.join({1, 0}), smi::Value::integer(4)}}) ==
        "notification oldBellLampOut: oldBellLamp.0 = 4; A lamp is out! (trap)");
}

TEST_CASE("snmptranslate gives every notification the identifier that the written model has") {
  std::size_t compared = 0;
  for (const auto& [file, module] : std::vector<std::pair<std::string, std::string>>{
           {bell, "LARKMOOR-BELL-MIB"},
           {old_bell, "LARKMOOR-OLD-BELL-MIB"},
           {"/usr/share/snmp/mibs/NET-SNMP-AGENT-MIB.txt", "NET-SNMP-AGENT-MIB"},
           {"/usr/share/snmp/mibs/NET-SNMP-EXAMPLES-MIB.txt", "NET-SNMP-EXAMPLES-MIB"},
           {"/usr/share/snmp/mibs/UCD-SNMP-MIB.txt", "UCD-SNMP-MIB"}}) {
    const Written made({file, "--based-on", "rsu-4.1"});
    const Model& base = *schema::shipped().model("rsu-4.1");
    for (const auto& [id, one] : made.model->notifications) {
      if (base.notifications.count(id) != 0) continue;
      INFO(one.name);
      CHECK(id.str() == as_net_snmp_names(module, one.name));
      ++compared;
    }
  }
  // 2, 1, and in Debian 12's libsnmp-base 5.9.3: 3, 1, 2
  CHECK(compared == 9);
}

TEST_CASE(
    "a model based on a standard's has its objects, its rules, its common names, and the names of a MIB") {
  for (const std::string base_name : {"ntcip1218-v01", "rsu-4.1"}) {
    const Written made({bell, "--based-on", base_name});
    const Model& base = *made.schema.model(base_name);
    CHECK(made.model->root == base.root);
    CHECK(made.model->objects.size() == base.objects.size());
    CHECK(made.model->tables.size() == base.tables.size());
    CHECK(made.model->identity.present->name == base.identity.present->name);
    REQUIRE(made.model->mode.has_value());
    CHECK(made.model->mode->asked->name == base.mode->asked->name);
    std::size_t mapped = 0;
    for (const auto& [name, setting] : made.schema.settings) {
      INFO(name);
      CHECK(setting.on.count("made") == setting.on.count(base_name));
      mapped += setting.on.count("made");
    }
    CHECK(mapped > 10);
    CHECK(made.model->notifications.size() == base.notifications.size() + 2);
    CHECK(made.model->told.size() == base.told.size() + 3);  // ifIndex is the base's
    CHECK(made.text.find("ifIndex") == made.text.npos);
    for (const char* key : {"\nscalars:", "\ntables:", "\nrecognise:", "\nroot:", "\nmode:", "review"})
      CHECK(made.text.find(key) == made.text.npos);
    CHECK(made.line(bell_oid.join({0, 1}), {{bell_oid.join({1, 1, 0}), smi::Value::integer(2)},
                                            {bell_oid.join({1, 2, 0}), smi::Value::of_octets("Ann")}}) ==
          "notification bellDoorMoved: bellDoor.0 = open, bellWho.0 = Ann; "
          "The door of the cabinet was opened or shut (trap)");
    CHECK(made.line(bell_oid.join({0, 3}), {{bell_oid.join({1, 3, 1, 3, 2, 4}), smi::Value::integer(2)}}) ==
          "notification bellLineDead: bellLineState.2.4 = dead; "
          "A line, e.g. that of a lamp, is dead: see the shelf (trap)");
  }
}

TEST_CASE(
    "a model with the base's own names in the MIB stands in a fleet, and common names hold for its units") {
  const Scratch scratch;
  // As a standard's MIB: its objects are the base's, with a notification of theirs (number invented).
  const std::string mib = scratch.write(
      "NTCIP1218-v01.txt",
      "NTCIP1218-v01 DEFINITIONS ::= BEGIN\n"
      "IMPORTS enterprises, OBJECT-TYPE, NOTIFICATION-TYPE FROM SNMPv2-SMI;\n"
      "rsu OBJECT IDENTIFIER ::= { enterprises nema(1206) transportation(4) devices(2) 18 }\n"
      "rsuMode OBJECT-TYPE SYNTAX INTEGER { off(0) } MAX-ACCESS read-write STATUS current DESCRIPTION \"\"\n"
      "    ::= { rsu 16 2 }\n" +
          notification("rsuTold", "OBJECTS { rsuMode } STATUS current DESCRIPTION \"told\"", "rsu 99 7") +
          "END\n");
  const std::string file = scratch.path("fleet/models/told.yaml");
  std::filesystem::create_directories(scratch.path("fleet/models"));
  const Ran made = run({"model", "from-mib", mib, "--based-on", "ntcip1218-v01", "--json", "--out", file});
  INFO(made.err);
  REQUIRE(made.status == 0);
  const auto document = nlohmann::json::parse(made.out);
  CHECK(document.at("model") == "ntcip1218-v01-notifications");  // the module's name is the base's
  CHECK(document.at("notifications") == 1);
  CHECK(document.at("scalars") == 0);
  const std::string text = document.at("text");
  CHECK_THAT(text, Catch::Contains("  rsuTold: {oid: 99.7, about: told}\n"));
  scratch.write(
      "fleet/fleet.yaml",
      "fleet: Larkmoor\ncredentials:\n"
      "  c: {user: u, auth-secret: {env: A_SECRET}, privacy-secret: {env: P_SECRET}}\ncredential: c\n");
  scratch.write("fleet/units.yaml",
                "units:\n  LK-1: {model: ntcip1218-v01-notifications, address: 127.0.0.1,\n"
                "    settings: {gnss-output-port: 5115}}\n");
  const Ran ran = run({"where", "LK-1", "gnss-output-port", "--fleet", scratch.path("fleet")});
  INFO(ran.out << ran.err);
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Catch::Contains("5115"));
}

TEST_CASE("what --based-on cannot do is told in words") {
  const Ran unknown = run({"model", "from-mib", bell, "--based-on", "rsu-4.2"});
  CHECK(unknown.status == 2);
  CHECK_THAT(unknown.err, Catch::Contains("no model rsu-4.2") && Catch::Contains("ntcip1218-v01, rsu-4.1") &&
                              Catch::Contains("did you mean rsu-4.1?"));
  const Ran none = run({"model", "from-mib", mibs + "/RSU41-TEST.txt", "--based-on", "rsu-4.1"});
  CHECK(none.status == 2);
  CHECK(none.out.empty());
  CHECK_THAT(none.err, Catch::Contains("RSU41-TEST.txt has no notifications"));
  const Ran taken = run({"model", "from-mib", bell, "--based-on", "rsu-4.1", "--name", "rsu-4.1"});
  CHECK(taken.status == 2);
  CHECK_THAT(taken.err, Catch::Contains("there is a model rsu-4.1 already") && Catch::Contains("--name"));
  const Ran elsewhere = run({"model", "from-mib", bell, "--based-on", "rsu-4.1", "--root", "bellObjects"});
  CHECK(elsewhere.status == 2);
  CHECK_THAT(elsewhere.err, Catch::Contains("no notification stands below bellObjects"));
  const Scratch scratch;
  const std::string generic = scratch.write(
      "LARKMOOR-MIB.txt",
      "LARKMOOR-MIB DEFINITIONS ::= BEGIN\nIMPORTS TRAP-TYPE FROM RFC-1215 snmp FROM RFC1213-MIB;\n"
      "coldStart TRAP-TYPE ENTERPRISE snmp ::= 0\nEND\n");
  const Ran nothing_new = run({"model", "from-mib", generic, "--based-on", "rsu-4.1"});
  CHECK(nothing_new.status == 2);
  CHECK_THAT(
      nothing_new.err,
      Catch::Contains("has no notification to add to rsu-4.1: coldStart: it is part of the model anyway"));
  CHECK(run({"model", "schemas", "--based-on", "rsu-4.1"}).status == 2);
  // Without it a file without notifications has no section of them.
  const Written made({mibs + "/RSU41-TEST.txt"});
  CHECK(made.text.find("\nnotifications:") == made.text.npos);
}

TEST_CASE("a part of a MIB has the notifications of that part, with all that they bring") {
  const Written made({bell, "--based-on", "rsu-4.1", "--root", "bellDoorMoved"});
  CHECK(made.name_at(bell_oid.join({0, 1})) == "bellDoorMoved");
  CHECK(made.name_at(bell_oid.join({0, 3})).empty());
  CHECK(made.model->told.count(bell_oid.join({1, 2})) == 1);
}

TEST_CASE("notifications that name what is not there, or each other's names and numbers, are told and load") {
  const Scratch scratch;
  const std::string status = "STATUS current DESCRIPTION \"x\"";
  const std::string mib = scratch.write(
      "LARKMOOR-MIB.txt",
      small_module(
          notification("bellA", "OBJECTS { nowhere, verge, larkmoor, gone } " + status, "larkmoor 2") +
          notification("bellB", status, "larkmoor 2") +
          notification("null", "OBJECTS { bellA } " + status, "larkmoor 3") +
          notification("bellC", "STATUS current DESCRIPTION \"a: {b} # c 'd' \\ %\"", "larkmoor 4") +
          notification("bell_D", "STATUS current DESCRIPTION \"\"", "larkmoor 5")));
  for (const std::string base : {"", "rsu-4.1"}) {
    std::vector<std::string> words{mib};
    if (!base.empty()) words.insert(words.end(), {"--based-on", base});
    const Written made(words);
    INFO(made.ran.err << made.text);
    CHECK_THAT(
        made.ran.err,
        Catch::Contains("left out: nowhere: bellA brings it, and it is defined nowhere, nor are 1 more") ||
            Catch::Contains("left out: gone: bellA brings it"));
    CHECK_THAT(made.ran.err, Catch::Contains("has this object identifier already"));
    CHECK(made.name_at({1, 3, 6, 1, 4, 1, 99999, 3}) == "null");
    CHECK(made.model->notifications.at({1, 3, 6, 1, 4, 1, 99999, 4}).about == "a: {b} # c 'd' \\ %");
    CHECK(made.name_at({1, 3, 6, 1, 4, 1, 99999, 5}) == "bell_D");
  }
}

TEST_CASE("text of a notification can do nothing to a terminal, to the model file or to a log") {
  const Scratch scratch;
  const std::string mib = scratch.write(
      "LARKMOOR-MIB.txt",
      small_module(notification(
          "bell", "STATUS current DESCRIPTION \"up\x1b[2J\n  evil: yes\x07 \xff\xe2\x80\xae\x01\"",
          "larkmoor 2")));
  const Written made({mib, "--based-on", "rsu-4.1"});
  for (const std::string& text : {made.text, made.ran.err, made.line({1, 3, 6, 1, 4, 1, 99999, 2}, {})}) {
    CHECK(text.find('\x1b') == text.npos);
    CHECK(text.find('\x07') == text.npos);
    CHECK(text.find("\n  evil") == text.npos);
    CHECK(text.find("\xe2\x80\xae") == text.npos);
  }
}

TEST_CASE("thousands of notifications are written and load, and too many are refused") {
  const Scratch scratch;
  const auto module_with = [&](int count) {
    std::string labels;
    for (int i = 0; i < 500; ++i) labels += fmt::format("{}label{}({})", i == 0 ? "" : ",", i, i);
    std::string more =
        "wide OBJECT-TYPE SYNTAX INTEGER { " + labels +
        " } MAX-ACCESS accessible-for-notify STATUS current DESCRIPTION \"\" ::= { larkmoor 2 }\n";
    for (int i = 0; i < count; ++i)
      more += notification(fmt::format("bell{}", i),
                           "OBJECTS { wide, verge } STATUS current DESCRIPTION \"It rang.\"",
                           fmt::format("larkmoor 0 {}", i + 1));
    return scratch.write("LARKMOOR-MIB.txt", small_module(more));
  };
  const Written made({module_with(5000), "--based-on", "rsu-4.1"});
  CHECK(made.name_at({1, 3, 6, 1, 4, 1, 99999, 0, 5000}) == "bell4999");
  // A variable stands once, so that the file is no more than its parts.
  CHECK(made.text.find("wide:") == made.text.rfind("wide:"));
  const Ran many = run({"model", "from-mib", module_with(20'001), "--based-on", "rsu-4.1"});
  CHECK(many.status == 2);
  CHECK_THAT(many.err, Catch::Contains("more than 20000") && Catch::Contains("--root"));
}

TEST_CASE("a MIB of notifications that is damaged anywhere is answered, and what is made of one loads") {
  const Scratch scratch;
  std::ifstream file(bell);
  const std::string whole(std::istreambuf_iterator<char>(file), {});
  std::size_t made = 0;
  for (std::size_t at = whole.find("bellDoorMoved NOT"); at < whole.size(); at += 23) {
    std::string text = whole;
    text[at] = at % 2 == 0 ? '{' : '"';
    INFO(at);
    // Exit status 2 also where what was made would not load; that is told.
    const Ran ran =
        run({"model", "from-mib", scratch.write("LARKMOOR-BELL-MIB.txt", text), "--based-on", "rsu-4.1"});
    CHECK((ran.status == 0 || ran.status == 2));
    CHECK(ran.err.find("would not load") == ran.err.npos);
    if (ran.status == 0) ++made;
  }
  CHECK(made > 5);
}
