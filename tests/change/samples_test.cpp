#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>

#include "change/approval.h"
#include "change/work_order.h"
#include "district.h"
#include "records/journal.h"
#include "records/sealed.h"

// Samples of what a change writes, as tests/records/samples_test.cpp has them of records: of a journal the
// newest has each kind of line with the members that are written now.

namespace {

using namespace vergeset;
using test::District;
using test::two_units;

namespace fs = std::filesystem;

std::string sample(const std::string& name) {
  std::ifstream file(SOURCE_DIR "/tests/records/samples/" + name, std::ios::binary);
  REQUIRE(file);
  return {std::istreambuf_iterator<char>(file), {}};
}

/// The newest version of a kind, and its number.
std::pair<int, std::string> newest_sample(const std::string& kind, const std::string& ending) {
  int newest = 0;
  for (const auto& entry : fs::directory_iterator(SOURCE_DIR "/tests/records/samples")) {
    const std::string name = entry.path().filename().string();
    if (name.starts_with(kind + "-") && entry.path().extension() == ending)
      newest = std::max(newest, std::stoi(name.substr(kind.size() + 1)));
  }
  REQUIRE(newest > 0);
  return {newest, sample(kind + "-" + std::to_string(newest) + ending)};
}

/// Where what is written now is left for whoever has to keep it as the next sample; nothing where it fits.
std::string left_in_build(const std::string& kind, const std::string& ending, const std::string& text,
                          bool fits) {
  if (fits) return {};
  const std::string path = std::string(BINARY_DIR) + "/record-" + kind + ending;
  std::ofstream(path, std::ios::binary) << text;
  return "what is written now is " + path;
}

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

}  // namespace

TEST_CASE("a journal has the lines and members that its newest sample has") {
  District district(two_units());
  // One unit is settled, the other put back as found.
  district.sim("LK-102").trouble.ignored.push_back({"rsuNotifyIpAddress", 1});
  const change::ChangeResult result = district.apply();
  REQUIRE(result.units.at(0).outcome == change::Outcome::settled);
  REQUIRE(result.units.at(1).outcome == change::Outcome::restored);
  const std::string journal = district.disk.read("changes/0001/journal.jsonl").value();
  const auto [number, newest] = newest_sample("journal", ".jsonl");
  INFO("journal-" << number << ".jsonl; "
                  << left_in_build("journal", ".jsonl", journal, shape_of(journal) == shape_of(newest)));
  CHECK(shape_of(journal) == shape_of(newest));
}

TEST_CASE("a work order is written as its newest sample, and read from it") {
  District district(two_units());
  const std::string text = to_yaml(an_order(district));
  const auto [number, newest] = newest_sample("order", ".yaml");
  INFO("order-" << number << ".yaml; " << left_in_build("order", ".yaml", text, text == newest));
  CHECK(text == newest);
  const auto read = change::order_from_yaml(newest);
  REQUIRE(read);
  CHECK(read->units.at(0).desired.values.at(0).value.number == 15);
}

TEST_CASE(
    "an order of the first version, which does not say whether units were on air, is refused in words") {
  const auto read = change::order_from_yaml(sample("order-1.yaml"));
  REQUIRE_FALSE(read);
  CHECK_THAT(read.problem(), Catch::Contains("on-air"));
}

TEST_CASE("an approval is written as its newest sample, and all samples are read") {
  const change::Approval approval{std::string(64, 'a'), "kim@desk", "2026-11-25T02:00:00.000Z"};
  const auto [number, newest] = newest_sample("approval", ".yaml");
  INFO("approval-" << number << ".yaml; "
                   << left_in_build("approval", ".yaml", to_yaml(approval), to_yaml(approval) == newest));
  CHECK(to_yaml(approval) == newest);
  for (int version = 1; version <= number; ++version) {
    const auto read = change::approval_from_yaml(sample("approval-" + std::to_string(version) + ".yaml"));
    REQUIRE(read);
    CHECK(*read == approval);
  }
}
