#include "sim/twin_text.h"

#include <sstream>

#include "catch.h"
#include "sim/sim_unit.h"
#include "small_model.h"

using namespace vergeset;
using sim::UnitStart;

namespace {

const char* const head = R"({"unit":"LK-104","model":"small","engine-id":"8000000001020304","mode":3,)"
                         R"("refuse-after":1,"needs-standby":{"rsuID":true},"absent":["rsuFirmwareVersion"],)"
                         R"("cells":4})";
const char* const cells = R"({"object":"rsuID","index":0,"type":"OCTET STRING","value":"4c4b"}
{"object":"rsuGnssMaxDeviation","index":0,"type":"Integer32","value":"30000"}
{"object":"rsuGnssStatus","index":0,"type":"Integer32","value":"9"}
{"object":"rsuMode","index":0,"type":"Integer32","value":"3"}
)";

Result<std::vector<UnitStart>> read(const std::string& text, std::size_t count = 1) {
  std::istringstream lines(text);
  return sim::read_twins(lines, count);
}

}  // namespace

TEST_CASE("a twin is what its text says, through the pipe and back, and nothing of a factory") {
  const auto twins = read(std::string(head) + "\n" + cells);
  REQUIRE(twins);
  const UnitStart start = sim::unpack(sim::pack(twins->front()));
  CHECK(start.host == "127.0.0.1");
  CHECK(start.port == 0);
  CHECK(start.engine_id == "8000000001020304");
  CHECK(start.refuse_after == 1);

  const auto model = small::model();
  auto store = start.store(*model, 50, small::start);
  REQUIRE(store);
  CHECK(store->walk(small::start).size() == 4);
  CHECK(store->operating(small::start));
  // 30000 is above what the model allows: the twin shows what was found. A sense that moves is still.
  CHECK(store->get(small::scalar(2), small::start).number == 30000);
  CHECK(store->get(small::scalar(4), small::start + 3600000).number == 9);
  CHECK(store->get(small::scalar(3), small::start).type == smi::Type::no_such_object);
  // The fleet says that rsuID needs standby, and the twin operates.
  CHECK(store->check({small::put(small::scalar(1), std::string("LK-105"))}, small::start).status ==
        sim::Status::inconsistent_value);
}

TEST_CASE("a twin that lets one SET pass refuses the second, and takes the third") {
  const auto model = small::model();
  sim::SimUnit unit(sim::Store({model.get(), "LK-104", std::nullopt, 50}, nullptr, small::start));
  unit.trouble.refusals.push_back({"", sim::Status::gen_err, 1, 1});
  const std::vector<sim::VarBind> set{small::put(small::scalar(1), std::string("LK-105"))};
  CHECK(unit.check(set, small::start).status == sim::Status::no_error);
  CHECK(unit.check(set, small::start).status == sim::Status::gen_err);
  CHECK(unit.check(set, small::start).status == sim::Status::no_error);
}

TEST_CASE("a unit that lacks a table's RowStatus offers none of the table") {
  const auto model = small::model();
  sim::Nature nature{model.get(), "LK-104", std::nullopt, 50};
  nature.absent.insert("rsuMsgRepeatStatus");
  const sim::Store store(nature, nullptr, small::start);
  CHECK(store.get(small::message(small::psid, 1), small::start).type == smi::Type::no_such_object);
  CHECK(store.check({small::put(small::message(small::status, 1), 4)}, small::start).status ==
        sim::Status::not_writable);
  CHECK(store.check({small::put(small::scalar(8), 1)}, small::start).ok());  // rsuMsgRepeatDeleteAll
}

TEST_CASE("a text of twins that is cut short or wrong is a problem, and no twin") {
  CHECK_FALSE(read(head));
  CHECK_FALSE(read("[]\n"));
  CHECK_FALSE(read(std::string(head) + "\n" + cells, 2));
  CHECK_FALSE(read(R"({"unit":"LK-104","model":"small","cells":"many"})"));
  CHECK_FALSE(read(R"({"unit":"LK-104","model":"small","cells":1})"
                   "\n"
                   R"({"object":"rsuID","index":0,"type":"COLOUR","value":""})"));
  std::istringstream no_user(R"({"twins":1})");
  CHECK_FALSE(sim::read_twin_user(no_user));
  const auto unknown = read(R"({"unit":"LK-104","model":"small","cells":1})"
                            "\n"
                            R"({"object":"rsuColour","index":0,"type":"Integer32","value":"1"})");
  REQUIRE(unknown);
  CHECK_FALSE(unknown->front().store(*small::model(), 50, small::start));
}

TEST_CASE("the first line names the user that may ask, and no problem tells a secret") {
  std::istringstream good(
      R"({"twins":3,"user":"rehearsal","auth":"SHA-256","auth-secret":"of oak and ash","privacy":"AES-128","privacy-secret":"of elm and yew"})");
  const auto user = sim::read_twin_user(good);
  REQUIRE(user);
  CHECK(user->twins == 3);
  CHECK(user->auth_secret == "of oak and ash");
  std::istringstream bad(R"({"twins":"three","user":"rehearsal","auth-secret":"of oak and ash"})");
  const auto none = sim::read_twin_user(bad);
  REQUIRE_FALSE(none);
  CHECK(none.problem().find("oak") == std::string::npos);
}
