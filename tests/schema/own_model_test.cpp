#include "catch.h"
#include "schema/small_model.h"

using namespace vergeset;
using namespace vergeset::schema;

namespace {

const std::string common =
    "settings:\n"
    "  reach: {about: how far, unit: m, on: {m: far}}\n"
    "tables:\n"
    "  goods: {about: things, on: {m: things}, columns: {name: {about: a name, on: {m: thingName}}}}\n";

Loaded with_own(const std::string& own, const std::string& own_common = "") {
  Loaded::Files files{{"own.yaml", own}};
  if (!own_common.empty()) files.emplace_back("common.yaml", own_common);
  return Loaded({{"m.yaml", small_table}, {"common.yaml", common}}, files);
}

void check_fault(const std::string& marked, const std::string& words) {
  const Marked text(marked);
  const Loaded loaded({{"m.yaml", small_table}, {"common.yaml", common}}, {{"own.yaml", text.text}});
  CHECK(loaded.unlike(text.place("models/own.yaml") + ": " + words) == "");
}

}  // namespace

TEST_CASE("a model that is based on another has all of it, and what it adds") {
  const Loaded loaded = with_own(
      "model: own\ntitle: Own\nbased-on: m\nroot: 1.3.6.1.4.1.77\n"
      "scalars:\n  fan: {oid: 1.2, syntax: Integer32, access: read-write}\n"
      "tables:\n  things:\n    columns:\n"
      "      thingColour: {oid: 3, syntax: DisplayString, access: read-create}\n");
  REQUIRE(loaded.report().empty());
  const Model& own = *loaded.schema.model("own");
  const Model& base = *loaded.schema.model("m");
  CHECK(own.title == "Own");
  CHECK(own.root == base.root);
  CHECK(own.object("fan")->oid.str() == "1.3.6.1.4.1.77.1.2");
  CHECK(own.object("far")->oid == base.object("far")->oid);
  CHECK(own.object("far") != base.object("far"));
  CHECK(own.table("things")->columns.size() == 3);
  CHECK(own.table("things")->columns[2]->oid.str() == "1.3.6.1.4.1.99.6.1.3");
  CHECK(own.object("thingName")->table == own.table("things"));
  CHECK(base.object("fan") == nullptr);
  CHECK(base.table("things")->columns.size() == 2);
  CHECK(own.identity.present == own.object("id"));
}

TEST_CASE("an own model changes the traits and the syntax of an object and keeps the rest") {
  const Loaded loaded = with_own(
      "model: own\nbased-on: m\n"
      "scalars:\n  far: {syntax: Integer32 (0..50), traits: [needs-standby]}\n"
      "tables:\n  things: {traits: [needs-standby], edit: remake}\n");
  REQUIRE(loaded.report().empty());
  const Model& own = *loaded.schema.model("own");
  const Model& base = *loaded.schema.model("m");
  CHECK(own.object("far")->syntax.ranges.front() == smi::Range{0, 50});
  CHECK(own.object("far")->traits.needs_standby);
  CHECK(own.object("far")->unit == "m");
  CHECK(own.object("far")->access == Access::read_write);
  CHECK(own.table("things")->needs_standby);
  CHECK(own.table("things")->edit == RowEdit::remake);
  CHECK(own.object("thingName")->traits.needs_standby);
  CHECK_FALSE(base.object("far")->traits.needs_standby);
  CHECK_FALSE(base.object("thingName")->traits.needs_standby);
}

TEST_CASE("a model based on one that is based on another has all of both, whatever their names' order") {
  const Loaded loaded(
      {{"m.yaml", small_table}},
      {{"a.yaml", "model: a\nbased-on: b\nscalars: {far: {note: second}}\n"},
       {"b.yaml", "model: b\nbased-on: m\nscalars: {far: {note: first, traits: [cuts-off]}}\n"}});
  REQUIRE(loaded.report().empty());
  CHECK(loaded.schema.model("a")->object("far")->note == "second");
  CHECK(loaded.schema.model("a")->object("far")->traits.cuts_off);
  CHECK(loaded.schema.model("b")->object("far")->note == "first");
}

TEST_CASE("common names of a base hold for what is based on it") {
  const Loaded loaded = with_own("model: own\nbased-on: m\n");
  REQUIRE(loaded.report().empty());
  const Model& own = *loaded.schema.model("own");
  CHECK(loaded.schema.settings.at("reach").on.at("own").object == own.object("far"));
  CHECK(loaded.schema.tables.at("goods").on.at("own") == own.table("things"));
  CHECK(loaded.schema.tables.at("goods").columns.at("name").on.at("own").object == own.object("thingName"));
}

TEST_CASE("a fleet's own common.yaml maps known names to its models, and brings new ones") {
  const Loaded loaded = with_own(
      "model: own\nbased-on: m\nscalars:\n"
      "  farther: {oid: 9, syntax: Integer32, access: read-write, unit: cm}\n"
      "  fan: {oid: 10, syntax: Integer32, access: read-write}\n",
      "settings:\n  reach: {on: {own: farther}}\n  cooling: {about: a fan, on: {own: fan}, elsewhere: leave "
      "out}\n");
  REQUIRE(loaded.report().empty());
  const Model& own = *loaded.schema.model("own");
  CHECK(loaded.schema.settings.at("reach").on.at("own").object == own.object("farther"));
  CHECK(loaded.schema.settings.at("reach").on.at("m").object->name == "far");
  CHECK(loaded.schema.settings.at("reach").about == "how far");
  CHECK(loaded.schema.settings.at("cooling").left_out);
}

TEST_CASE("what an own model makes read-only has no common name there") {
  const Loaded loaded = with_own("model: own\nbased-on: m\nscalars: {far: {access: read-only}}\n");
  REQUIRE(loaded.report().empty());
  CHECK(loaded.schema.settings.at("reach").on.count("own") == 0);
  CHECK(loaded.schema.settings.at("reach").on.count("m") == 1);
}

TEST_CASE("an own model that is based on what is not there, or on itself, is a fault") {
  check_fault("model: own\nbased-on: @@n\n", "no model n is known");
  check_fault("model: own\nbased-on: @@own\n", "own is based on itself");
  const Loaded loaded({{"m.yaml", small_table}},
                      {{"a.yaml", "model: a\nbased-on: b\n"}, {"b.yaml", "model: b\nbased-on: a\n"}});
  CHECK(loaded.report().find("is based on itself") != std::string::npos);
  CHECK(loaded.schema.model("a") == nullptr);
}

TEST_CASE("an own model may not take the name of another") {
  check_fault("model: @@m\nbased-on: m\n", "there is a model m already, at schemas/m.yaml:1:8");
  check_fault("model: @@system\n", "the model system is vergeset's own, at schemas/system.yaml:1:8");
}

TEST_CASE("a misspelt object of the base is a fault with a suggestion") {
  check_fault("model: own\nbased-on: m\nscalars:\n  @@farr: {traits: [cuts-off]}\n",
              "no object farr is known here; did you mean far?");
}

TEST_CASE("a column of the base cannot be moved, and its table keeps its identifier") {
  check_fault("model: own\nbased-on: m\nscalars:\n  @@thingName: {traits: [cuts-off]}\n",
              "thingName is defined already, at schemas/m.yaml:16:7");
  check_fault("model: own\nbased-on: m\ntables:\n  things: {oid: @@9}\n",
              "things keeps the object identifier of the model that this one is based on");
}

TEST_CASE("a narrower syntax that the base's default does not fit is the own file's fault") {
  std::string base = small_scalars;
  base.insert(base.find(", unit: m}"), ", default: 80");
  const Marked own("model: own\nbased-on: m\nscalars: {far: {syntax: @@Integer32 (0..50)}}\n");
  const Loaded loaded({{"m.yaml", base}}, {{"own.yaml", own.text}});
  CHECK(loaded.report().rfind(own.place("models/own.yaml") + ": the default \"80\" does not fit", 0) == 0);
  CHECK(loaded.faults.sorted().size() == 1);
}

TEST_CASE("a fleet without a folder of models is no fault") {
  const Scratch scratch;
  scratch.write("schemas/system.yaml", small_system);
  Faults faults;
  load_schema(scratch.path("schemas"), scratch.path("models"), faults);
  CHECK_FALSE(faults.any());
}
