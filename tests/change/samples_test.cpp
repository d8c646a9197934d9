#include <set>

#include "change/approval.h"
#include "change/in_hand.h"
#include "change/recover.h"
#include "change/work_order.h"
#include "district.h"
#include "records/journal.h"
#include "records/sealed.h"
#include "support/record_samples.h"

// Samples of what a change writes, as tests/records/samples_test.cpp has them of records: of a journal the
// newest has each kind of line with the members that are written now.

namespace {

using namespace vergeset;
using test::District;
using test::is_newest;
using test::sample_text;
using test::two_units;
using test::versions_of;

/// Each kind of line with its members, and those of the SETs in it.
std::set<std::string> shape_of(const std::string& journal) {
  std::set<std::string> shape;
  for (const records::Json& event : records::read_journal(journal).events) {
    std::string line = event.at("event").get<std::string>() + ":";
    for (const auto& [name, value] : event.items()) line += " " + name;
    if (event.contains("set") && !event["set"].empty()) {
      line += " (";
      for (const auto& [name, value] : event["set"][0].items()) line += " " + name;
      line += " )";
    }
    shape.insert(line);
  }
  return shape;
}

change::WorkOrder an_order(District& district) {
  change::WorkOrder order{"Larkmoor", "2026-11-25T01:00:00.000Z", "robin@desk", "a \"test\"", {}, {}};
  order.files = {{"fleet.yaml", std::string(64, 'a')}};
  records::Snapshot found;
  found.on_air = true;
  const schema::Object& tolerance = *district.unit("LK-101").model->object("rsuGnssMaxDeviation");
  found.values = {{"rsuGnssMaxDeviation.0", tolerance.oid.child(0), smi::Value::integer(20000)}};
  records::Snapshot desired = found;
  desired.values[0].value = smi::Value::integer(15);
  const auto previews = change::preview(district.world, district.goals(), false, 16);
  order.units.push_back({"LK-101", found, desired, previews.at(0).result.sequence});
  return order;
}

/// What is written now has the lines and members of the newest sample, no more and no less.
void has_newest_shape(const std::string& kind, const std::string& journal) {
  const std::string newest = test::newest_of(kind);
  CHECK(shape_of(journal) == shape_of(newest));
  is_newest(kind, journal, shape_of(journal) == shape_of(newest));
}

std::string journal_of(const District& district) {
  return district.disk.read("changes/0001/journal.jsonl").value();
}

}  // namespace

TEST_CASE("a journal has the lines and members that its newest sample has") {
  District district(two_units());
  // One unit has been replaced and loses an answer, and is settled; the other is put back as found.
  records::KnownUnits known = records::KnownUnits::read(district.disk);
  known.met(district.disk, "LK-101", {"the engine before it", {}}, "2026-11-25T02:00:00.000Z");
  known.accept({"LK-101"}, "robin@desk");
  district.world.known = &known;
  district.sim("LK-101").trouble.drop_response = 1;
  district.sim("LK-102").trouble.ignored.push_back({"rsuNotifyIpAddress", 1});
  change::ApplyOptions options;
  options.who = "robin@desk";
  options.why = "a \"test\"";
  const change::ChangeResult result = district.apply(options);
  INFO(result.units.at(0).what);
  CHECK(result.units.at(0).outcome == change::Outcome::settled);
  CHECK(result.units.at(1).outcome == change::Outcome::restored);
  has_newest_shape("journal", journal_of(district));
}

TEST_CASE("a journal that recovery has gone on with has the lines and members that its newest sample has") {
  District district(two_units());
  test::operating(district);
  std::size_t sets = 0;
  district.network.after_set = [&](const std::string&, const std::vector<snmp::VarBind>&) {
    district.network.kill = ++sets == 3;
  };
  CHECK_THROWS_AS(district.apply(), test::SimNetwork::Killed);
  district.network.after_set = {};
  change::RecoverOptions options;
  options.who = "robin@desk";
  const auto recovered = change::recover(district.world, options);
  REQUIRE(recovered.size() == 1);
  CHECK(recovered[0].ended);
  has_newest_shape("recovered-journal", journal_of(district));
}

TEST_CASE("lines of a change of keys have the members that the newest sample has") {
  District district(two_units());
  records::Journal journal(district.disk, district.clock, "changes/0001/journal.jsonl");
  const change::SettleOptions options;
  change::InHand hand(district.world, district.unit("LK-101"), journal, options);
  hand.add_key_begin("an engine", 6, "installer");
  hand.add_key_step("step", 1, "give user vergeset new keys, by user installer");
  hand.add_result(1, "");
  hand.add_key_step("fence", 1, "count usmUserSpinLock on, so that nothing comes late");
  hand.end(change::Outcome::settled, "");
  hand.add_outcome();
  journal.sync();
  std::set<std::string> of_units = shape_of(test::newest_of("key-journal"));
  // The others are those of every change, which the journal above has.
  std::erase_if(of_units, [](const std::string& line) {
    return line.starts_with("begin:") || line.starts_with("end:");
  });
  CHECK(shape_of(journal_of(district)) == of_units);
}

TEST_CASE("a work order is written as its newest sample, and read from it") {
  District district(two_units());
  is_newest("order", to_yaml(an_order(district)));
  const auto read = change::order_from_yaml(test::newest_of("order"));
  REQUIRE(read);
  CHECK(read->fleet == "Larkmoor");
  CHECK(read->who == "robin@desk");
  CHECK(read->why == "a \"test\"");
  CHECK(read->files == an_order(district).files);
  CHECK(read->units.at(0).unit == "LK-101");
  CHECK(read->units.at(0).as_found.values == an_order(district).units.at(0).as_found.values);
  CHECK(read->units.at(0).as_found.on_air);
  CHECK(read->units.at(0).desired.values.at(0).value.number == 15);
  CHECK(read->units.at(0).sequence.steps.size() == an_order(district).units.at(0).sequence.steps.size());
}

TEST_CASE(
    "an order of the first version, which does not say whether units were on air, is refused in words") {
  const auto read = change::order_from_yaml(sample_text("order-1.yaml"));
  REQUIRE_FALSE(read);
  CHECK_THAT(read.problem(), Catch::Contains("on-air"));
}

TEST_CASE("an approval is written as its newest sample, and all samples are read") {
  const change::Approval approval{std::string(64, 'a'), "kim@desk", "2026-11-25T02:00:00.000Z"};
  is_newest("approval", to_yaml(approval));
  for (const auto& [version, text] : versions_of("approval")) {
    INFO("approval-" << version);
    const auto read = change::approval_from_yaml(text);
    REQUIRE(read);
    CHECK(*read == approval);
  }
}

TEST_CASE("no version of a work order or an approval is taken of which there is no sample") {
  const auto with = [](const std::string& head) {
    return [head](const std::string& text, int number) {
      std::string body = *records::unsealed(text);
      const auto at = body.find(head + ": ");
      REQUIRE(at != std::string::npos);
      const auto digits = at + head.size() + 2;
      body.replace(digits, body.find('\n', digits) - digits, std::to_string(number));
      return records::sealed(body);
    };
  };
  const auto number = [](const std::string& head) {
    return [head](const std::string& text) {
      return std::stoi(text.substr(text.find(head + ": ") + head.size() + 2));
    };
  };
  test::numbers_have_samples("order", with("work-order"), number("work-order"),
                             [](const std::string& text) { return bool(change::order_from_yaml(text)); });
  test::numbers_have_samples("approval", with("approval"), number("approval"),
                             [](const std::string& text) { return bool(change::approval_from_yaml(text)); });
}
