#include <map>
#include <set>

#include "catch.h"
#include "schema/facts.h"

using namespace vergeset;
using namespace vergeset::schema;

namespace {

std::string_view word_of(Access access) {
  switch (access) {
    case Access::not_accessible:
      return "not-accessible";
    case Access::read_only:
      return "read-only";
    case Access::read_write:
      return "read-write";
    case Access::read_create:
      return "read-create";
  }
  return "";
}

/// The form that the words of a fact's syntax call for.
smi::Form form_of(const Fact& fact) {
  const auto begins = [&](const char* words) { return fact.syntax.rfind(words, 0) == 0; };
  const auto holds = [&](const char* words) { return fact.syntax.find(words) != std::string::npos; };
  if (holds("P-encoded")) return smi::Form::psid;
  if (holds("an IPv4 or IPv6 address as text")) return smi::Form::address_text;
  if (begins("Ipv6Address")) return smi::Form::address_octets;
  if (begins("DateAndTime")) return smi::Form::date_time;
  if (holds("SIZE(0|6)")) return smi::Form::minute_stamp;
  if (holds("SIZE(3)")) return smi::Form::time_of_day;
  if (begins("OCTET STRING (SIZE(1))") || begins("OCTET STRING (SIZE (1))")) return smi::Form::octet_number;
  if (begins("OCTET STRING") && fact.object.find("Url") != std::string::npos)
    return smi::Form::display_string;
  if (begins("OCTET STRING")) return smi::Form::octets;
  if (begins("MacAddress")) return smi::Form::mac;
  if (begins("DisplayString")) return smi::Form::display_string;
  if (begins("INTEGER {")) return smi::Form::enumeration;
  if (begins("BITS")) return smi::Form::bits;
  if (begins("RowStatus")) return smi::Form::row_status;
  if (begins("Counter32")) return smi::Form::counter;
  if (begins("OBJECT IDENTIFIER")) return smi::Form::object_id;
  REQUIRE(begins("Integer32"));
  return smi::Form::integer;
}

/// The part of a fact's syntax in brackets or braces, without what is prose.
std::string limits_of(const std::string& syntax) {
  std::string text;
  for (const char c : syntax.substr(0, syntax.find(';'))) {
    if (c != ' ') text += c;
  }
  const std::size_t open = text.find_first_of("({");
  if (open == std::string::npos) return "";
  const std::size_t close = text.find(text[open] == '{' ? "}" : text.find("SIZE(") == open + 1 ? "))" : ")");
  REQUIRE(close != std::string::npos);
  return text.substr(open, close - open + (text[open] == '{' ? 1 : text.find("SIZE(") == open + 1 ? 2 : 1));
}

void check_object(const Fact& fact, const Model& model) {
  const Object* object = model.object(fact.object);
  REQUIRE(object != nullptr);
  CHECK(object->oid.str() == fact.oid);
  CHECK(word_of(object->access) == fact.access);
  CHECK(object->unit == fact.unit);
  CHECK((object->table != nullptr) == (fact.kind == "column"));
  CHECK(object->syntax.form == form_of(fact));
}

void check_table(const Fact& fact, const Model& model) {
  const Table* table = model.table(fact.object);
  REQUIRE(table != nullptr);
  CHECK(table->oid.str() == fact.oid);
  CHECK(table->entry.str() == fact.oid + ".1");
  REQUIRE_FALSE(table->columns.empty());
  CHECK(table->index == table->columns.front()->name);
  if (!fact.syntax.empty()) CHECK("indexed by " + table->index == fact.syntax);
}

void check_facts(const std::string& name, std::size_t count) {
  const Model* model = shipped().model(name);
  REQUIRE(model != nullptr);
  const auto facts = facts_of(name);
  REQUIRE(facts.size() == count);
  for (const Fact& fact : facts) {
    INFO(fact.object);
    fact.kind == "table" ? check_table(fact, *model) : check_object(fact, *model);
  }
}

}  // namespace

TEST_CASE("every object of NTCIP 1218 v01 is in its model as its list has it") {
  check_facts("ntcip1218-v01", 243);
}

TEST_CASE("every object of the RSU 4.1 MIB is in its model as its list has it") {
  check_facts("rsu-4.1", 119);
}

TEST_CASE("the models hold nothing that is not in the lists but the system group") {
  for (const std::string name : {"ntcip1218-v01", "rsu-4.1"}) {
    std::set<std::string> listed;
    for (const Fact& fact : facts_of(name)) listed.insert(fact.object);
    for (const auto& [object, unused] : shipped().model(name)->objects) {
      const bool system = object.rfind("sys", 0) == 0 || object == "snmpSetSerialNo";
      CHECK((system || listed.count(object) == 1));
    }
    for (const auto& [table, unused] : shipped().model(name)->tables) CHECK(listed.count(table) == 1);
  }
}

TEST_CASE("ranges, sizes and labels are those of the lists") {
  std::size_t compared = 0;
  for (const std::string name : {"ntcip1218-v01", "rsu-4.1"}) {
    for (const Fact& fact : facts_of(name)) {
      if (fact.kind == "table") continue;
      const smi::Syntax& syntax = shipped().model(name)->object(fact.object)->syntax;
      // Forms of one size alone, and the one octet prefix, say it by their name.
      const bool fixed = syntax.form == smi::Form::address_octets || syntax.form == smi::Form::minute_stamp ||
                         syntax.form == smi::Form::time_of_day || syntax.form == smi::Form::octet_number ||
                         syntax.form == smi::Form::date_time;
      if (fixed) continue;
      INFO(fact.object << ": " << syntax.str());
      CHECK(limits_of(syntax.str()) == limits_of(fact.syntax));
      ++compared;
    }
  }
  CHECK(compared > 250);
}

TEST_CASE("the system group has the identifiers of RFC 3418 on every model") {
  // RFC 3418, the system group and snmpSet
  const std::map<std::string, std::string> group{
      {"sysDescr", "1.3.6.1.2.1.1.1"},    {"sysObjectID", "1.3.6.1.2.1.1.2"},
      {"sysUpTime", "1.3.6.1.2.1.1.3"},   {"sysContact", "1.3.6.1.2.1.1.4"},
      {"sysName", "1.3.6.1.2.1.1.5"},     {"sysLocation", "1.3.6.1.2.1.1.6"},
      {"sysServices", "1.3.6.1.2.1.1.7"}, {"snmpSetSerialNo", "1.3.6.1.6.3.1.1.6.1"}};
  for (const auto& [name, model] : shipped().models) {
    for (const auto& [object, oid] : group) {
      REQUIRE(model->object(object) != nullptr);
      CHECK(model->object(object)->oid.str() == oid);
    }
    CHECK(model->object("sysContact")->configuration());
    CHECK_FALSE(model->object("sysDescr")->configuration());
    CHECK_FALSE(model->object("snmpSetSerialNo")->configuration());
  }
  CHECK(shipped().model("system") == nullptr);
}

TEST_CASE("the modes of both standards have their numbers") {
  // The two standards: standby 2 in both, operate 3 in NTCIP 1218 and 4 in RSU 4.1
  const ModeRule ntcip = shipped().model("ntcip1218-v01")->mode.value();
  CHECK(ntcip.asked->name == "rsuMode");
  CHECK(ntcip.status->name == "rsuModeStatus");
  CHECK(ntcip.standby == 2);
  CHECK(ntcip.operate == 3);
  CHECK(ntcip.status_standby == 2);
  CHECK(ntcip.status_operate == 3);
  CHECK(ntcip.status_fault == 4);
  CHECK_FALSE(ntcip.asked->traits.needs_standby);
  const ModeRule old = shipped().model("rsu-4.1")->mode.value();
  CHECK(old.asked == old.status);
  CHECK(old.standby == 2);
  CHECK(old.operate == 4);
  CHECK(old.status_operate == 4);
  CHECK_FALSE(old.status_fault.has_value());
}

TEST_CASE("the models say how a unit is recognised and where it finds itself") {
  const IdentityRule& ntcip = shipped().model("ntcip1218-v01")->identity;
  CHECK(ntcip.present->name == "rsuMibVersion");
  CHECK_FALSE(ntcip.equals.has_value());
  CHECK(ntcip.unit_id->name == "rsuID");
  CHECK(ntcip.latitude->name == "rsuGnssLat");
  // The object list of NTCIP 1218 v01: 900000001 unknown.
  CHECK(smi::to_text(ntcip.latitude->syntax, smi::Value::integer(900000001)) == "unknown");
  CHECK(ntcip.longitude->name == "rsuGnssLon");
  CHECK(ntcip.sentence == nullptr);
  const IdentityRule& old = shipped().model("rsu-4.1")->identity;
  CHECK(old.present->name == "rsuSysObjectID");
  // RSU 4.1 MIB, rsuSysObjectID
  CHECK(old.equals.value().oid->str() == "1.0.15628.4.1.6.0");
  CHECK(old.sentence->name == "rsuGpsOutputString");
  CHECK(old.latitude == nullptr);
}

TEST_CASE("what the lists call an action or a query is no configuration") {
  std::size_t count = 0;
  const Model& model = *shipped().model("ntcip1218-v01");
  for (const Fact& fact : facts_of("ntcip1218-v01")) {
    const bool action = fact.note.find("an action") != std::string::npos;
    const bool query = fact.note.find("a query") != std::string::npos ||
                       fact.note.find("not configuration") != std::string::npos ||
                       fact.note.find("filled in by the unit") != std::string::npos;
    if (!action && !query) continue;
    INFO(fact.object);
    CHECK(model.object(fact.object)->traits.action == action);
    CHECK(model.object(fact.object)->traits.running == query);
    CHECK_FALSE(model.object(fact.object)->configuration());
    ++count;
  }
  CHECK(count == 13);
}

TEST_CASE("what the lists say cuts the manager off has that trait, and nothing else has") {
  for (const std::string name : {"ntcip1218-v01", "rsu-4.1"}) {
    for (const Fact& fact : facts_of(name)) {
      if (fact.kind == "table") continue;
      INFO(fact.object);
      CHECK(shipped().model(name)->object(fact.object)->traits.cuts_off ==
            (fact.note.find("cuts the manager off") != std::string::npos));
    }
  }
}

TEST_CASE("defaults are those that the lists name") {
  std::size_t count = 0;
  for (const std::string name : {"ntcip1218-v01", "rsu-4.1"}) {
    for (const Fact& fact : facts_of(name)) {
      if (fact.kind == "table") continue;
      const Object& object = *shipped().model(name)->object(fact.object);
      const std::size_t behind = fact.note.find(" is the default");
      const std::size_t before = fact.note.find("default ");
      INFO(fact.object);
      std::string text;
      if (behind != std::string::npos) text = fact.note.substr(0, behind);
      if (before == 0) text = fact.note.substr(8, fact.note.find(';') - 8);
      CHECK(object.initial.has_value() == !text.empty());
      if (text.empty() || !object.initial) continue;
      CHECK(smi::to_text(object.syntax, *object.initial) == text);
      ++count;
    }
  }
  CHECK(count == 9);
}

TEST_CASE("the tables that need standby are the usual ones") {
  // common practice, no source
  const std::set<std::string> ntcip{"rsuRadioTable"};
  const std::set<std::string> old{"rsuSRMStatusTable", "rsuIFMStatusTable", "rsuDsrcForwardTable",
                                  "rsuWsaServiceTable", "rsuDsrcChannelModeTable"};
  for (const std::string name : {"ntcip1218-v01", "rsu-4.1"}) {
    const Model& model = *shipped().model(name);
    const auto& expected = name == "rsu-4.1" ? old : ntcip;
    for (const auto& [table_name, table] : model.tables) {
      INFO(table_name);
      CHECK(table.needs_standby == (expected.count(table_name) == 1));
      for (const Object* column : table.columns) CHECK(column->traits.needs_standby == table.needs_standby);
    }
    for (const auto& [object_name, object] : model.objects) {
      if (object.table == nullptr) CHECK_FALSE(object.traits.needs_standby);
    }
  }
}

TEST_CASE("tables know their status, their greatest number of rows and their index range") {
  const Model& model = *shipped().model("ntcip1218-v01");
  const Table& repeat = *model.table("rsuMsgRepeatStatusTable");
  CHECK(repeat.rows_are_made());
  CHECK(repeat.status->name == "rsuMsgRepeatStatus");
  CHECK(repeat.most->name == "maxRsuMsgRepeat");
  CHECK(repeat.index_range == smi::Range{1, 255});
  CHECK(repeat.edit == RowEdit::in_place);
  CHECK(repeat.columns.size() == 11);
  const Table& radios = *model.table("rsuRadioTable");
  CHECK_FALSE(radios.rows_are_made());
  CHECK(radios.index_range == smi::Range{1, 16});
  const Table& old = *shipped().model("rsu-4.1")->table("rsuSRMStatusTable");
  CHECK(old.most == nullptr);
  CHECK(old.index_range == smi::Range{1, 2147483647});
  for (const auto& [name, shipped_model] : shipped().models) {
    for (const auto& [table_name, table] : shipped_model->tables) {
      std::uint32_t last = 0;
      for (const Object* column : table.columns) {
        CHECK(column->table == &table);
        CHECK(column->oid.back() > last);
        last = column->oid.back();
      }
    }
  }
}

TEST_CASE("an instance is known by its object, and told by name") {
  const Model& model = *shipped().model("ntcip1218-v01");
  const smi::Oid mode = model.object("rsuMode")->oid;
  const smi::Oid psid = model.object("rsuMsgRepeatPsid")->oid;
  CHECK(model.object_at(mode.child(0)) == model.object("rsuMode"));
  CHECK(model.object_at(psid.child(3)) == model.object("rsuMsgRepeatPsid"));
  CHECK(model.name_of(mode.child(0)) == "rsuMode.0");
  CHECK(model.name_of(psid.child(3)) == "rsuMsgRepeatPsid.3");
  CHECK(model.name_of(model.object("sysName")->oid.child(0)) == "sysName.0");
}

TEST_CASE("what is no instance of the model is told by its number") {
  const Model& model = *shipped().model("ntcip1218-v01");
  const smi::Oid mode = model.object("rsuMode")->oid;
  const smi::Oid psid = model.object("rsuMsgRepeatPsid")->oid;
  for (const smi::Oid& oid :
       {mode, mode.child(1), mode.child(0).child(0), psid, psid.child(3).child(4),
        model.table("rsuMsgRepeatStatusTable")->oid, smi::Oid{1, 3, 6, 1}, smi::Oid{}}) {
    CHECK(model.object_at(oid) == nullptr);
    CHECK(model.name_of(oid) == oid.str());
  }
}

TEST_CASE("names that a model lacks are nothing") {
  CHECK(shipped().model("ntcip1218") == nullptr);
  CHECK(shipped().model("rsu-4.1")->object("rsuModeStatus") == nullptr);
  CHECK(shipped().model("rsu-4.1")->table("rsuRadioTable") == nullptr);
}
