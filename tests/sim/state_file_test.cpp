#include "sim/state_file.h"

#include <unistd.h>

#include <filesystem>

#include "catch.h"
#include "small_model.h"

using namespace vergeset;
using namespace small;

namespace {

sim::Store fresh(const Bench& bench) {
  return sim::Store(bench.store.nature(), nullptr, start);
}

}  // namespace

TEST_CASE("a saved state loads into the same values, rows of every status among them") {
  Bench bench;
  REQUIRE(bench.set(bench.whole_row(1)).ok());
  REQUIRE(bench.set({put(message(status, 9), 5)}).ok());
  REQUIRE(
      bench.set({put(scalar(1), std::string("LK \"101\"\n")), put(scalar(5), 3), put(channel(2), 172)}).ok());
  const std::string text = sim::state_text(bench.store, 4);

  sim::Store again = fresh(bench);
  const auto boots = sim::load_state(again, text, start);
  REQUIRE(boots);
  CHECK(*boots == 4);
  CHECK(sim::state_text(again, 4) == text);
  CHECK(again.get(message(status, 9), start).number == 3);
  CHECK(again.get(scalar(6), start).number == 3);  // in the mode that was asked for, at once
}

TEST_CASE("loading a state takes away the rows that it does not name") {
  Bench bench;
  const std::string text = sim::state_text(bench.store, 1);
  REQUIRE(bench.set(bench.whole_row(1)).ok());
  REQUIRE(sim::load_state(bench.store, text, bench.now));
  CHECK(bench.get(message(status, 1)).absent());
}

TEST_CASE("a state that is none of this unit's names the line at fault") {
  Bench bench;
  const std::string head = "{\"unit\":\"LK-101\",\"model\":\"small\",\"boots\":1}\n";
  const auto problem = [&](const std::string& text) {
    sim::Store store = fresh(bench);
    const auto loaded = sim::load_state(store, text, start);
    return loaded ? std::string() : loaded.problem();
  };
  CHECK(problem("{\"unit\":\"LK-101\",\"model\":\"large\"}\n")
            .starts_with("line 1: is the state of a unit of model"));
  CHECK(problem(head + "rsuID\n") == "line 2: is no JSON object");
  CHECK(problem(head + R"({"object":"rsuIDD","index":0,"type":"OCTET STRING","value":"41"})")
            .starts_with("line 2: model small has no object 'rsuIDD'"));
  CHECK(problem(head + R"({"object":"rsuID","index":0,"type":"OCTET STRING","value":41})") ==
        "line 2: a member is of the wrong kind");
  for (const char* index : {"\"x\"", "-1", "0.5", "4294967296"}) {
    INFO(index);
    CHECK(
        problem(head + R"({"object":"rsuID","index":)" + index + R"(,"type":"OCTET STRING","value":"41"})") ==
        "line 2: 'index' is no number from 0 to 2147483646");
  }
  CHECK(problem(R"({"unit":"LK-101","model":"small","boots":-1})") ==
        "line 1: 'boots' is no number from 0 to 2147483646");
  CHECK(problem("") == "is empty");
  CHECK(problem(head + R"({"object":"rsuID","index":0,"type":"OCTET STRING","value":"4"})")
            .starts_with("line 2:"));
  CHECK(problem(head + R"({"object":"rsuID","index":1,"type":"OCTET STRING","value":"41"})") ==
        "line 2: rsuID has no instance 1");
  CHECK(problem(head + R"({"object":"rsuFirmwareVersion","index":0,"type":"OCTET STRING","value":"41"})")
            .starts_with("line 2: rsuFirmwareVersion cannot be SET"));
}

TEST_CASE("a state holds nothing that a unit could not: ranges, rows, status") {
  Bench bench;
  const auto load = [&](const std::string& cell) {
    const std::string head = "{\"unit\":\"LK-101\",\"model\":\"small\",\"boots\":1}\n";
    const auto loaded = sim::load_state(bench.store, head + cell, start);
    return loaded ? std::string() : loaded.problem();
  };
  CHECK(load(R"({"object":"rsuMode","index":0,"type":"Integer32","value":"99"})")
            .starts_with("line 2: rsuMode: 99 is none of"));
  CHECK(load(R"({"object":"rsuMsgRepeatPsid","index":256,"type":"OCTET STRING","value":"20"})") ==
        "line 2: rsuMsgRepeatPsid has no instance 256");
  CHECK(load(R"({"object":"rsuMsgRepeatStatus","index":3,"type":"Integer32","value":"4"})") ==
        "line 2: rsuMsgRepeatStatus is never 4");
  // A column alone is a row that waits for its status.
  CHECK(load(R"({"object":"rsuMsgRepeatPsid","index":3,"type":"OCTET STRING","value":"20"})").empty());
  CHECK(bench.number(message(status, 3)) == 3);
}

TEST_CASE("a file is written whole, and read back") {
  const std::string path = BINARY_DIR "/state-file-test-" + std::to_string(::getpid());
  REQUIRE(sim::write_whole(path, "one\n"));
  REQUIRE(sim::write_whole(path, "two\n"));
  CHECK(*sim::read_file(path) == "two\n");
  std::filesystem::remove(path);
  CHECK_FALSE(sim::read_file(path));
  CHECK_FALSE(sim::write_whole(BINARY_DIR "/no such folder/x", "one\n"));
}

TEST_CASE(
    "desired values stand in a new unit as if SET long ago, rows without an index at the first free one") {
  Bench bench;
  const auto object = [&](const char* name) { return bench.model->object(name); };
  fleet::Desired desired;
  desired.values.push_back({"mode", object("rsuMode"), smi::Value::integer(3), {}, {}});
  fleet::DesiredTable table;
  table.table = bench.model->table("rsuMsgRepeatStatusTable");
  const auto row = [&](std::optional<std::uint32_t> index, const std::string& octets) {
    fleet::DesiredRow made;
    made.index = index;
    made.columns.push_back({"psid", object("rsuMsgRepeatPsid"), smi::Value::of_octets(octets), {}, {}});
    made.columns.push_back({"payload", object("rsuMsgRepeatPayload"), smi::Value::of_octets(octets), {}, {}});
    return made;
  };
  table.rows = {row(1, "\x20"), row(std::nullopt, "\x21")};
  desired.tables.push_back(table);
  bench.store.apply(desired, bench.now);
  CHECK(bench.number(scalar(6)) == 3);
  CHECK(bench.number(message(status, 1)) == 1);
  CHECK(bench.number(message(status, 2)) == 1);
  CHECK(bench.get(message(psid, 2)) == smi::Value::of_octets("\x21"));
}
