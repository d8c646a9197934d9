#include "catch.h"
#include "schema/small_model.h"

using namespace vergeset::schema;

namespace {

/// A file of a model in which @@ marks the only fault, which begins with these words.
void check_fault(const std::string& marked, const std::string& words) {
  const Marked text(marked);
  const Loaded loaded({{"m.yaml", text.text}});
  CHECK(loaded.unlike(text.place("schemas/m.yaml") + ": " + words) == "");
}

void check_scalar_fault(const std::string& marked, const std::string& words) {
  check_fault(small_scalars + marked, words);
}

void check_column_fault(const std::string& marked, const std::string& words) {
  check_fault(small_table + marked, words);
}

/// The small model with one line of its head put in its place, or added.
std::string with_head(const std::string& line) {
  return line + "\n" + small_table;
}

std::string without(std::string text, const std::string& piece) {
  const std::size_t at = text.find(piece);
  REQUIRE(at != std::string::npos);
  return text.erase(at, piece.size());
}

}  // namespace

TEST_CASE("the small model of these tests is without fault") {
  const Loaded loaded({{"m.yaml", small_table}});
  CHECK(loaded.report().empty());
  REQUIRE(loaded.schema.model("m") != nullptr);
  CHECK(loaded.schema.model("m")->title == "m");
  CHECK(loaded.schema.model("m")->object("sysName") != nullptr);
}

TEST_CASE("a file of models that is neither a model nor the common settings is a fault") {
  check_fault("@@scalars: {}\n", "`model:` is missing");
  check_fault("@@- a\n", "a map is expected: a model with `model:`, or the common settings");
}

TEST_CASE("unknown keys of a model are faults with a suggestion") {
  check_fault(with_head("@@titel: M"), "unknown key \"titel\"; did you mean title?");
  check_scalar_fault("  x: {oid: 9, @@sintax: a, syntax: Integer32, access: read-only}\n",
                     "unknown key \"sintax\"; did you mean syntax?");
  check_column_fault("      x: {oid: 9, @@absolute: 1.3, syntax: Integer32, access: read-only}\n",
                     "unknown key \"absolute\"");
  check_fault(small_table + "    @@indx: a\n", "unknown key \"indx\"; did you mean index?");
  check_fault(with_head("identity: {@@unitid: id}"), "unknown key \"unitid\"; did you mean unit-id?");
}

TEST_CASE("what a model must say and does not is a fault") {
  check_fault("@@" + without(small_table, "recognise: {object: id}\n"), "`recognise:` is missing");
  check_fault("@@model: m\nrecognise: {object: sysName}\n", "`root:` is missing");
  check_scalar_fault("  x: @@{syntax: Integer32, access: read-only}\n", "`oid:` is missing");
  check_scalar_fault("  x: @@{oid: 9, access: read-only}\n", "`syntax:` is missing");
  check_scalar_fault("  x: @@{oid: 9, syntax: Integer32}\n", "`access:` is missing");
  check_scalar_fault("  @@x: Integer32\n", "an object is a map");
  check_scalar_fault("tables:\n  t: @@{oid: 9, index: i}\n", "`columns:` is missing");
  check_scalar_fault("tables:\n  @@t: [a]\n", "a table is a map");
}

TEST_CASE("an identifier that is none, or not below the root, is a fault") {
  check_fault("model: m\nroot: @@1.3.x\nrecognise: {object: sysName}\n", "\"1.3.x\" is no object identifier");
  check_scalar_fault("  x: {oid: @@6.x, syntax: Integer32, access: read-only}\n",
                     "\"6.x\" is no object identifier below the root");
  check_scalar_fault(
      "  x: {oid: @@1.3.6.1.4.1.99.6.9, syntax: Integer32, access: read-only}\n",
      "\"1.3.6.1.4.1.99.6.9\" is a whole object identifier; write what stands below the root: 6.9");
  check_scalar_fault("  x: {absolute: @@1.3.6.1.4.1.99.6.9, syntax: Integer32, access: read-only}\n",
                     "1.3.6.1.4.1.99.6.9 stands below the root; write `oid: 6.9`");
  check_scalar_fault("  x: {absolute: @@one, syntax: Integer32, access: read-only}\n",
                     "\"one\" is no object identifier");
  check_scalar_fault("  x: {absolute: 1.3.6.1.9, oid: @@9, syntax: Integer32, access: read-only}\n",
                     "`oid:` and `absolute:` exclude each other");
  check_column_fault("      x: {oid: @@2.1, syntax: Integer32, access: read-only}\n",
                     "the number of the column below the entry, 1 to 4294967295, is expected; found \"2.1\"");
}

TEST_CASE("a word for a number that the object does not take is a fault") {
  check_scalar_fault("  x: {oid: 9, syntax: Integer32 (0..9), words: {unknown: @@10}, access: read-only}\n",
                     "x is Integer32 (0..9), which has no number 10");
  check_scalar_fault("  x: {oid: 9, syntax: DisplayString, words: {unknown: @@10}, access: read-only}\n",
                     "x is DisplayString, which has no number 10");
  check_scalar_fault("  x: {oid: 9, syntax: Integer32, words: {unknown: @@far}, access: read-only}\n",
                     "the number of a word");
}

TEST_CASE("an identifier that another object has is a fault at the later") {
  check_scalar_fault("  @@x: {oid: 4, syntax: Integer32, access: read-only}\n",
                     "x has the object identifier 1.3.6.1.4.1.99.4 of most, at schemas/m.yaml:8:3");
  check_column_fault("      @@x: {oid: 2, syntax: Integer32, access: read-only}\n",
                     "x has the object identifier 1.3.6.1.4.1.99.6.1.2 of thingName, at schemas/m.yaml:16:7");
  const std::string table = without(small_table, "tables:\n");
  check_fault(small_scalars + "  @@x: {oid: 6.1.3, syntax: Integer32, access: read-only}\n" +
                  small_table.substr(small_scalars.size()),
              "x stands inside the table things; make it a column there");
}

TEST_CASE("a name that is defined twice is a fault at the second") {
  check_scalar_fault("  @@id: {oid: 9, syntax: Integer32, access: read-only}\n",
                     "\"id\" stands here a second time");
  check_column_fault("      @@id: {oid: 9, syntax: Integer32, access: read-only}\n",
                     "id is defined already, at schemas/m.yaml:5:3");
  check_column_fault("  @@mode:\n    oid: 9\n    index: i\n    columns: {}\n",
                     "mode is an object already, at schemas/m.yaml:6:3");
  check_column_fault("      @@things: {oid: 9, syntax: Integer32, access: read-only}\n",
                     "things is a table already, at schemas/m.yaml:11:3");
}

TEST_CASE("a syntax, access, trait, edit or unit that is none is a fault") {
  check_scalar_fault("  x: {oid: 9, syntax: @@Integer33, access: read-only}\n", "\"Integer33\" is no syntax");
  check_scalar_fault("  x: {oid: 9, syntax: Integer32, access: @@read-onyl}\n",
                     "an access is one of not-accessible, read-only, read-write, read-create; found "
                     "\"read-onyl\"; did you mean read-only?");
  check_scalar_fault(
      "  x: {oid: 9, syntax: Integer32, access: read-only, traits: [@@needs-stanby]}\n",
      "a trait is one of action, running, needs-standby, cuts-off; found \"needs-stanby\"; did you "
      "mean needs-standby?");
  check_scalar_fault("  x: {oid: 9, syntax: Integer32, access: read-only, unit: @@furlong}\n",
                     "\"furlong\" is no unit of measure");
  check_fault(small_table + "    edit: @@in-place\n",
              "the edit of a row is one of in place, out of service, remake; found \"in-place\"");
  check_fault(small_table + "    traits: [@@action]\n", "a trait of a table is one of needs-standby");
}

TEST_CASE("a default that the syntax forbids is a fault") {
  check_scalar_fault("  x: {oid: 9, syntax: Integer32 (0..9), access: read-only, default: @@10}\n",
                     "the default \"10\" does not fit Integer32 (0..9)");
  check_scalar_fault("  x: {oid: 9, syntax: \"INTEGER { off(0) }\", access: read-only, default: @@no}\n",
                     "the default \"no\" does not fit INTEGER { off(0) }");
}

TEST_CASE("a table that names what it has not is a fault with a suggestion") {
  const std::string head = small_scalars + "tables:\n  t:\n    oid: 9\n";
  const std::string columns =
      "    columns:\n"
      "      tIndex: {oid: 1, syntax: Integer32, access: not-accessible}\n"
      "      tName: {oid: 2, syntax: DisplayString, access: read-create}\n"
      "      tStatus: {oid: 3, syntax: RowStatus, access: read-create}\n";
  const std::string good = "    index: tIndex\n    status: tStatus\n";
  check_fault(head + "    index: @@tIndx\n    status: tStatus\n" + columns,
              "tIndx is no column of t; did you mean tIndex?");
  check_fault(head + "    index: @@tName\n    status: tStatus\n" + columns,
              "the index tName is DisplayString; a table has one integer index");
  check_fault(head + "    index: tIndex\n    status: @@tStat\n" + columns, "tStat is no column of t");
  check_fault(head + "    index: tIndex\n    status: @@tName\n" + columns,
              "tName is DisplayString; the status of a row is RowStatus");
  check_fault(small_scalars + "tables:\n  @@t:\n    oid: 9\n    index: tIndex\n" + columns,
              "t has the RowStatus column tStatus; write `status: tStatus`");
  check_fault(head + good + "    most: @@mots\n" + columns, "mots is no object of m; did you mean most?");
  check_fault(head + good + "    most: @@id\n" + columns, "id is no scalar number");
  check_fault(head + good + "    columns: @@5\n", "a map of columns is expected; found \"5\"");
}

TEST_CASE("a mode that its objects do not have is a fault") {
  const auto check = [](const std::string& mode, const std::string& words) {
    check_fault(with_head("mode: {" + mode + "}"), words);
  };
  check("asked: @@mod, status: state, standby: standby, operate: operate",
        "mod is no object of m; did you mean mode?");
  check("asked: @@state, status: state, standby: standby, operate: operate", "state cannot be set");
  check("asked: @@thingName, status: state, standby: standby, operate: operate",
        "thingName is a column of things; the mode asked for is a scalar");
  check("asked: mode, status: state, standby: standby, operate: operate, fault: @@fautl",
        "state has no mode \"fautl\"");
  check("asked: mode, status: @@id, standby: standby, operate: operate",
        "id is DisplayString (SIZE(0..8)); a mode is an INTEGER with labels");
  check_fault(with_head("mode: @@{asked: mode, status: state, standby: standby}"), "`operate:` is missing");
}

TEST_CASE("a mode object that needs standby could never leave it") {
  std::string text = small_table;
  const std::string access = "operate(3) }\", access: read-write";
  text.insert(text.find(access) + access.size(), ", traits: [needs-standby]");
  check_fault("mode: {asked: @@mode, status: state, standby: standby, operate: operate}\n" + text,
              "mode is how a unit leaves standby");
}

TEST_CASE("a recognition or identity that the model lacks is a fault") {
  const std::string rest = without(small_table, "recognise: {object: id}\n");
  check_fault("recognise: {object: @@idd}\n" + rest, "idd is no object of m; did you mean id?");
  check_fault("recognise: {object: id, equals: @@123456789}\n" + rest, "id cannot be \"123456789\"");
  check_fault("recognise: @@{equals: a}\n" + rest, "`object:` is missing");
  check_fault(with_head("identity: {unit-id: @@ids}"), "ids is no object of m; did you mean id?");
  check_fault(with_head("identity: {unit-id: @@thingName}"), "thingName is a column of things");
  check_fault(with_head("identity: {latitude: @@far}"), "a latitude needs a `longitude:` beside it");
}

TEST_CASE("a folder without system.yaml, or that is not there, is a fault") {
  vergeset::Faults faults;
  load_schema("/nonexistent/schemas", "", faults);
  REQUIRE(faults.sorted().size() == 2);
  CHECK(faults.sorted()[0].place.file == "/nonexistent/schemas");
  CHECK(faults.sorted()[0].text.find("system.yaml is missing") == 0);
  CHECK(faults.sorted()[1].text.find("cannot be read") != std::string::npos);
}

TEST_CASE("all faults of all files are told at once") {
  const Loaded loaded({{"m.yaml", small_scalars + "  x: {oid: 9, syntax: Integer33, access: read-onyl}\n"},
                       {"n.yaml", "model: [\n"},
                       {"o.yaml", "titel: O\n"}});
  const auto faults = loaded.faults.sorted();
  REQUIRE(faults.size() == 4);
  CHECK(faults[0].place.str() == "schemas/m.yaml:10:23");
  CHECK(faults[1].place.str() == "schemas/m.yaml:10:42");
  CHECK(faults[2].place.file == "schemas/n.yaml");
  CHECK(faults[3].place.str() == "schemas/o.yaml:1:1");
}
