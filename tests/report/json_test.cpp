#include "report/json.h"

#include "catch.h"
#include "sample.h"

using namespace vergeset;
using namespace vergeset::report;
using namespace vergeset::tests;

namespace {

std::vector<std::string> keys_of(const Json& json) {
  std::vector<std::string> keys;
  for (const auto& [key, value] : json.items()) keys.push_back(key);
  return keys;
}

Json parsed(const Json& json) {
  return Json::parse(dump(json));
}

using Keys = std::vector<std::string>;

}  // namespace

TEST_CASE("every document names its version and its command") {
  CHECK(dump(document("audit")) == "{\n  \"vergeset\": 1,\n  \"command\": \"audit\"\n}\n");
}

TEST_CASE("an audit's document holds the documented names") {
  const fleet::Unit unit = unit_here();
  const Json json = parsed(audit_json({drifted(unit), silent(unit)}));
  REQUIRE(json.size() == 2);
  CHECK(keys_of(json[0]) == Keys{"unit", "verdict", "what", "taken", "differences", "obstacles", "remarks",
                                 "health", "position", "ends", "up_s", "factory"});
  CHECK(json[0]["verdict"] == "drifted");
  CHECK(json[1]["verdict"] == "no answer");
  const Json& difference = json[0]["differences"][1];
  CHECK(keys_of(difference) ==
        Keys{"name", "kind", "table", "row", "asked", "needs_standby", "cuts_off", "items"});
  CHECK(difference["table"].is_null());
  CHECK(json[0]["differences"][2]["kind"] == "new row");
  CHECK(json[0]["differences"][2]["row"] == 1);
  const Json& item = difference["items"][0];
  CHECK(keys_of(item) ==
        Keys{"setting", "object", "oid", "as_found", "desired", "needs_standby", "cuts_off", "asked"});
  CHECK(item["as_found"] == Json{{"words", "20000 m"}, {"type", "Integer32"}, {"value", "20000"}});
  CHECK(item["asked"] == "groups/signals.yaml:12:5");
  CHECK(json[0]["remarks"][1]["kind"] == "not offered");
}

TEST_CASE("values are whole and exact in documents, however long") {
  const fleet::Unit unit = unit_here();
  const Json json = parsed(audit_json({drifted(unit)}));
  CHECK(json[0]["differences"][2]["items"][1]["desired"]["value"] == smi::to_hex(payload()));
}

TEST_CASE("a dry run's document holds steps with exact variable bindings") {
  const fleet::Unit unit = unit_here();
  const Json json = parsed(dry_run_json({preview_of(unit)}));
  CHECK(keys_of(json[0]) == Keys{"unit", "outcome", "what", "differences", "remarks", "sequence",
                                 "steps_done", "off_air_ms", "still_off_air", "health"});
  CHECK(json[0]["outcome"] == "would change");
  const Json& sequence = json[0]["sequence"];
  CHECK(keys_of(sequence) == Keys{"leaves_operate", "ends_off_air", "expected_off_air_s", "steps"});
  CHECK(sequence["leaves_operate"] == true);
  const Json& step = sequence["steps"][1];
  CHECK(keys_of(step) == Keys{"step", "about", "in_standby", "cuts_off", "set"});
  CHECK(step["step"] == "go to standby");
  CHECK(keys_of(step["set"][0]) == Keys{"object", "oid", "words", "type", "value"});
  CHECK(step["set"][0]["value"] == "2");
}

TEST_CASE("the columns of a row that goes stand as found, and nothing is desired of them") {
  const Json items = parsed(differences_json({gone_row()}))[0]["items"];
  REQUIRE(items.size() == 1);
  CHECK(items[0]["as_found"]["words"] == "0x83");
  CHECK(items[0]["desired"].is_null());
}

TEST_CASE("a change's document has its number, or null where nothing was to be changed") {
  change::ChangeResult result;
  CHECK(parsed(change_result_json(result))["change"].is_null());
  result.number = 42;
  CHECK(keys_of(parsed(change_result_json(result))) == Keys{"change", "stopped", "units"});
  CHECK(parsed(change_result_json(result))["change"] == 42);
}

TEST_CASE("units, faults, changes and logs have their documented names") {
  const fleet::Unit unit = unit_here();
  const Json units =
      parsed(units_json({&unit}, {{"LK-104", {"settled", "change 0042", "2026-11-25T02:00:00Z"}}}));
  CHECK(keys_of(units[0]) == Keys{"unit", "host", "port", "model", "groups", "last"});
  CHECK(units[0]["groups"] == Json::parse("[[\"all\"], [\"signals\", \"corridor-7\"]]"));
  CHECK(keys_of(units[0]["last"]) == Keys{"outcome", "of", "at"});
  Faults faults;
  faults.add({"fleet.yaml", 3, 5}, "expected a number, found x");
  CHECK(parsed(faults_json(faults)) ==
        Json::parse(
            "[{\"file\":\"fleet.yaml\",\"line\":3,\"column\":5,\"text\":\"expected a number, found x\"}]"));
  records::ChangeRecord change;
  change.units = {{"LK-104", "settled", "", 3, 4130}};
  const Json one = parsed(change_json(change));
  CHECK(keys_of(one) ==
        Keys{"change", "kind", "of", "fleet", "who", "why", "approved", "begun", "ended", "units", "files"});
  CHECK(keys_of(one["units"][0]) == Keys{"unit", "outcome", "what", "steps_done", "off_air_ms"});
  CHECK(keys_of(parsed(log_json({{"t", "audit", "ends"}}))[0]) == Keys{"at", "for", "what"});
}

TEST_CASE("octets that are no UTF-8 leave a document that parses") {
  const fleet::Unit unit = unit_here();
  change::Audited audited = silent(unit);
  audited.what = "\xff\xc3(\x1b";
  CHECK(parsed(audit_json({audited}))[0]["what"].is_string());
}
