#include <algorithm>

#include "catch.h"
#include "sim/control.h"
#include "sim/sim_unit.h"
#include "small_model.h"

using namespace vergeset;
using namespace small;
using sim::Status;
using sim::Verdict;

namespace {

/// A unit that is told things, and asked things as an agent would.
struct Told {
  Bench bench;
  sim::SimUnit unit{bench.store};
  std::int64_t now = start + 1000;

  std::string tell(const std::string& line) { return sim::obey(unit, line, now); }
  Verdict set(const std::vector<sim::VarBind>& binds) {
    if (!unit.takes_set(binds.size())) return {Status::gen_err, 99};
    const Verdict verdict = unit.check(binds, now);
    if (verdict.ok()) unit.commit(now);
    unit.set_done(verdict.ok());
    return verdict;
  }
  smi::Value get(const smi::Oid& oid) const { return unit.store.get(oid, now); }
};

const smi::Value factory_id = smi::Value::of_octets("RSU");

}  // namespace

TEST_CASE("counters count requests, bindings and refusals, and are reset") {
  Told told;
  told.unit.takes_get();
  CHECK(told.set({put(scalar(1), "x"), put(scalar(2), 7)}).ok());
  CHECK_FALSE(told.set({put(scalar(3), "x")}).ok());
  told.unit.counters.in = {3, 300, 1};
  told.unit.counters.out = {2, 250, 0};
  CHECK(told.tell("counters") ==
        "gets 1\nsets 2\nset-varbinds 3\nsets-refused 1\n"
        "datagrams-in 3\noctets-in 300\nlost-in 1\ndatagrams-out 2\noctets-out 250\nlost-out 0\n");
  CHECK(told.tell("reset counters") == "ok\n");
  CHECK(told.tell("counters") ==
        "gets 0\nsets 0\nset-varbinds 0\nsets-refused 0\n"
        "datagrams-in 0\noctets-in 0\nlost-in 0\ndatagrams-out 0\noctets-out 0\nlost-out 0\n");
}

TEST_CASE("drop N loses the next N requests of any kind") {
  Told told;
  REQUIRE(told.tell("drop 2") == "ok\n");
  CHECK_FALSE(told.unit.takes_get());
  CHECK_FALSE(told.unit.takes_set(1));
  CHECK(told.unit.takes_get());
}

TEST_CASE("drop-response N carries N SETs out and loses their answers") {
  Told told;
  REQUIRE(told.tell("drop-response 1") == "ok\n");
  CHECK(told.set({put(scalar(1), "x")}).ok());
  CHECK_FALSE(told.unit.answers_set());
  CHECK(told.get(scalar(1)) == smi::Value::of_octets("x"));
  CHECK(told.unit.answers_set());
}

TEST_CASE("refuse answers an error-status that often, and carries nothing out") {
  Told told;
  REQUIRE(told.tell("refuse resourceUnavailable 1") == "ok\n");
  CHECK(told.set({put(scalar(2), 7), put(scalar(1), "x")}) == Verdict{Status::resource_unavailable, 1});
  CHECK(told.get(scalar(1)) == factory_id);
  CHECK(told.set({put(scalar(1), "x")}).ok());
}

TEST_CASE("refuse OBJECT waits for a SET of it, and names its binding") {
  Told told;
  REQUIRE(told.tell("refuse rsuMsgRepeatPayload.2 commitFailed 1") == "ok\n");
  CHECK(told.set({put(scalar(1), "x")}).ok());
  CHECK(told.set(told.bench.whole_row(1)).ok());
  CHECK(told.set(told.bench.whole_row(2)) == Verdict{Status::commit_failed, 2});
  CHECK(told.set(told.bench.whole_row(2)).ok());
}

TEST_CASE("ignore acknowledges and does nothing; of one object, nothing of that") {
  Told told;
  REQUIRE(told.tell("ignore 1") == "ok\n");
  CHECK(told.set({put(scalar(1), "x")}).ok());
  CHECK(told.get(scalar(1)) == factory_id);
  REQUIRE(told.tell("ignore rsuID 1") == "ok\n");
  CHECK(told.set({put(scalar(1), "x"), put(scalar(2), 7)}).ok());
  CHECK(told.get(scalar(1)) == factory_id);
  CHECK(told.get(scalar(2)).number == 7);
  CHECK(told.set({put(scalar(1), "x")}).ok());
  CHECK(told.get(scalar(1)) == smi::Value::of_octets("x"));
}

TEST_CASE("clip stores what it was told instead of what is written, until cleared") {
  Told told;
  REQUIRE(told.tell("clip rsuGnssMaxDeviation 100") == "ok\n");
  CHECK(told.set({put(scalar(2), 700)}).ok());
  CHECK(told.get(scalar(2)).number == 100);
  REQUIRE(told.tell("clear") == "ok\n");
  CHECK(told.set({put(scalar(2), 700)}).ok());
  CHECK(told.get(scalar(2)).number == 700);
}

TEST_CASE("stuck makes the next change to operate end elsewhere") {
  Told told;
  REQUIRE(told.tell("stuck fault 1") == "ok\n");
  CHECK(told.set({put(scalar(5), 3)}).ok());
  told.now += 2000;
  CHECK(told.tell("get rsuModeStatus") == "fault\n");
}

TEST_CASE("a local hand sets values in words, past access and standby, rows too") {
  Told told;
  CHECK(told.tell("set rsuID  Mill Lane 4 ") == "ok\n");
  CHECK(told.get(scalar(1)) == smi::Value::of_octets("Mill Lane 4"));
  CHECK(told.tell("set rsuFirmwareVersion 2.5.0") == "ok\n");
  CHECK(told.tell("get rsuFirmwareVersion") == "2.5.0\n");
  CHECK(told.set({put(scalar(5), 3)}).ok());
  told.now += 2000;
  CHECK(told.tell("set rsuRadioCh1.2 172") == "ok\n");
  CHECK(told.get(channel(2)).number == 172);
  CHECK(told.set(told.bench.whole_row(1)).ok());
  CHECK(told.tell("set rsuMsgRepeatStatus.1 destroy") == "ok\n");
  CHECK(told.get(message(psid, 1)).absent());
}

TEST_CASE("a local hand makes a row step by step, and no column without a row") {
  Told told;
  CHECK(told.tell("set rsuMsgRepeatPsid.9 0x82") == "error: rsuMsgRepeatPsid has no instance 9\n");
  CHECK(told.get(message(psid, 9)).absent());
  CHECK(told.tell("set rsuMsgRepeatStatus.256 createAndWait") ==
        "error: rsuMsgRepeatStatus has no instance 256\n");
  CHECK(told.tell("set rsuMsgRepeatStatus.9 createAndWait") == "ok\n");
  CHECK(told.tell("set rsuMsgRepeatPsid.9 0x82") == "ok\n");
  CHECK(told.tell("get rsuMsgRepeatStatus.9") == "notReady\n");
  CHECK(told.tell("set rsuMsgRepeatPayload.9 0012020000") == "ok\n");
  CHECK(told.tell("get rsuMsgRepeatStatus.9") == "notInService\n");
  CHECK(told.tell("set rsuMsgRepeatStatus.9 active") == "ok\n");
}

TEST_CASE("a local hand puts a mode that is only shown into place at once") {
  Told told;
  CHECK(told.tell("set rsuModeStatus fault") == "ok\n");
  CHECK(told.tell("get rsuModeStatus") == "fault\n");
  CHECK(told.tell("get rsuMode") == "standby\n");
}

TEST_CASE("a SET that is undone reboots nothing: RFC 3416 4.2.5") {
  Told told;
  CHECK(told.set({put(scalar(1), "x"), put(scalar(7), 1)}).ok());
  told.unit.undo();
  CHECK(told.get(scalar(1)) == factory_id);
  CHECK_FALSE(told.unit.take_reboot());
}

TEST_CASE("state shows every variable by name") {
  Told told;
  const std::string text = told.tell("state");
  CHECK(text.find("rsuMode.0 standby\n") != std::string::npos);
  CHECK(text.find("rsuRadioCh1.2 183\n") != std::string::npos);
  CHECK(std::count(text.begin(), text.end(), '\n') == 12);
}

TEST_CASE("a reboot counts a start; lose forgets what was SET since the last") {
  Told told;
  CHECK(told.set({put(scalar(7), 1)}).ok());
  auto asked = told.unit.take_reboot();
  REQUIRE(asked);
  CHECK_FALSE(asked->lose);
  CHECK_FALSE(told.unit.take_reboot());
  CHECK(told.set({put(scalar(1), "kept")}).ok());
  told.unit.reboot(*asked, told.now);
  CHECK(told.unit.boots == 2);
  CHECK(told.get(scalar(1)) == smi::Value::of_octets("kept"));

  CHECK(told.set({put(scalar(1), "lost")}).ok());
  CHECK(told.set(told.bench.whole_row(1)).ok());
  REQUIRE(told.tell("reboot lose") == "ok\n");
  asked = told.unit.take_reboot();
  REQUIRE(asked);
  told.unit.reboot(*asked, told.now);
  CHECK(told.unit.boots == 3);
  CHECK(told.get(scalar(1)) == smi::Value::of_octets("kept"));
  CHECK(told.get(message(status, 1)).absent());
}

TEST_CASE("what makes no sense is answered with what was wrong") {
  Told told;
  CHECK(told.tell("") == "error: '' is no command; see roadside-sim tell --help\n");
  CHECK(told.tell("dorp 3").starts_with("error: 'dorp' is no command; did you mean drop?"));
  CHECK(told.tell("drop x") == "error: drop takes a number of requests\n");
  CHECK(told.tell("drop -1") == "error: drop takes a number of requests\n");
  CHECK(told.tell("refuse wrongvalue 1")
            .starts_with("error: 'wrongvalue' is no error-status; did you mean wrongValue?"));
  CHECK(told.tell("refuse rsuIDD wrongValue 1")
            .starts_with("error: model small has no object 'rsuIDD'; did you mean rsuID?"));
  CHECK(told.tell("set rsuRadioCh1 172") ==
        "error: rsuRadioCh1 is a column: say of which row, rsuRadioCh1.1\n");
  CHECK(told.tell("get rsuRadioCh1") == "error: rsuRadioCh1 is a column: say of which row, rsuRadioCh1.1\n");
  CHECK(told.tell("set rsuRadioCh1.7 172") == "error: rsuRadioCh1 has no instance 7\n");
  CHECK(told.tell("set rsuMsgRepeatStatus.1 createAndGo")
            .starts_with("error: rsuMsgRepeatStatus.1: inconsistentValue"));
  CHECK(told.tell("set rsuGnssMaxDeviation 30000").starts_with("error: "));
  CHECK(told.tell("set rsuGnssStatus 9") == "ok\n");
  CHECK(told.tell("get rsuGnssStatus") == "9\n");
}
