#include "report/notification_text.h"

#include "catch.h"
#include "fuzz/larkmoor.h"
#include "report/listen_text.h"
#include "smi/inert.h"

using namespace vergeset;
using snmp::Notification;

namespace {

const schema::Model& model_of(const std::string& name) {
  return *fuzz::standards()->models.at(name);
}

const smi::Oid link_down{1, 3, 6, 1, 6, 3, 1, 1, 5, 3};  // RFC 3418

std::string line_of(const std::string& model, const Notification& notification) {
  return report::notification_words(model_of(model), notification).line;
}

}  // namespace

TEST_CASE("the standard notifications and their variables are told in words on every model") {
  // RFC 2863: ifIndex, ifAdminStatus, ifOperStatus
  const smi::Oid column{1, 3, 6, 1, 2, 1, 2, 2, 1};
  const Notification down{Notification::Kind::trap,
                          link_down,
                          0,
                          {{column.child(1).child(3), smi::Value::integer(3)},
                           {column.child(7).child(3), smi::Value::integer(1)},
                           {column.child(8).child(3), smi::Value::integer(2)}}};
  for (const std::string model : {"ntcip1218-v01", "rsu-4.1"}) {
    CHECK(line_of(model, down) ==
          "notification linkDown: ifIndex.3 = 3, ifAdminStatus.3 = up, ifOperStatus.3 = down; "
          "an interface goes out of service (trap)");
  }
  const Notification start{Notification::Kind::inform, smi::Oid{1, 3, 6, 1, 6, 3, 1, 1, 5, 1}, 12, {}};
  CHECK(line_of("rsu-4.1", start) ==
        "notification coldStart; started anew; its settings may be others (inform)");
}

TEST_CASE(
    "a variable that is an object of the model has its name and words, and what has no name its identifier") {
  // tests/facts: rsuMode is 1.3.6.1.4.1.1206.4.2.18.16.2, operate(3), and 1.0.15628.4.1.99, operate(4)
  const smi::Oid own{1, 3, 6, 1, 4, 1, 99999, 1, 0, 7};
  const Notification mode{Notification::Kind::trap,
                          own,
                          0,
                          {{smi::Oid{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 16, 2, 0}, smi::Value::integer(3)}}};
  CHECK(line_of("ntcip1218-v01", mode) == "notification 1.3.6.1.4.1.99999.1.0.7: rsuMode.0 = operate (trap)");
  const Notification other{
      Notification::Kind::trap,
      own,
      0,
      {{smi::Oid{1, 0, 15628, 4, 1, 99, 0}, smi::Value::integer(4)},
       {smi::Oid{1, 3, 6, 1, 4, 1, 99999, 2, 0}, smi::Value::of_octets("door open")},
       {smi::Oid{1, 3, 6, 1, 4, 1, 99999, 3, 0}, smi::Value::of_octets(std::string("\x00\xff", 2))}}};
  CHECK(line_of("rsu-4.1", other) ==
        "notification 1.3.6.1.4.1.99999.1.0.7: rsuMode.0 = operate, 1.3.6.1.4.1.99999.2.0 = \"door open\", "
        "1.3.6.1.4.1.99999.3.0 = 00ff (trap)");
}

TEST_CASE("whatever a unit sends, the line is inert and can be read to its end") {
  Notification hostile{Notification::Kind::trap, link_down, 0, {}};
  for (std::uint32_t i = 0; i < 2000; ++i) {
    hostile.varbinds.push_back({smi::Oid{1, 3, 6, 1, 4, 1, 99999, i, 0},
                                smi::Value::of_octets("\x1b[2J\n\xe2\x80\xae" + std::string(5000, 'x'))});
    hostile.varbinds.push_back({smi::Oid{1, 3, 6, 1, 2, 1, 2, 2, 1, 2, i},  // ifDescr
                                smi::Value::of_octets("\x1b]0;owned\x07" + std::string(5000, '\xff'))});
  }
  const std::string line = line_of("rsu-4.1", hostile);
  CHECK(line.size() < 3000);
  CHECK(fuzz::safe_to_show(line));
  CHECK(line.find('\n') == std::string::npos);
  CHECK(line == smi::inert(line));
  CHECK_THAT(line, Catch::Contains("and 3990 more"));
  const auto document = report::notification_json(model_of("rsu-4.1"), hostile);
  CHECK(document["variables"].size() == 10);
  CHECK(document["left_out"] == 3990);
  CHECK(report::dump_line(document).size() < 120000);
}

TEST_CASE("neither a community nor a key change that a notification brings is shown") {
  const Notification secret{Notification::Kind::trap,
                            link_down,
                            0,
                            {{smi::Oid{1, 3, 6, 1, 6, 3, 18, 1, 4, 0},
                              smi::Value::of_octets("of-oak")},  // snmpTrapCommunity, RFC 3584
                             {smi::Oid{1, 3, 6, 1, 6, 3, 15, 1, 2, 2, 1, 6, 1, 1, 1, 1},
                              smi::Value::of_octets("of-oak")}}};  // RFC 3414
  CHECK_THAT(line_of("rsu-4.1", secret), !Catch::Contains("of-oak") && Catch::Contains("(not shown)"));
  const std::string json = report::dump_line(report::notification_json(model_of("rsu-4.1"), secret));
  CHECK_THAT(json, !Catch::Contains("of-oak") && !Catch::Contains("6f662d6f616b"));
}

TEST_CASE("what was dropped is told by reason, and what did not occur is left out") {
  report::Heard heard;
  heard.seconds = 125;
  heard.notifications = 12;
  heard.units = 3;
  heard.dropped = {{"unknown sender", 5}, {"wrong digest", 0}, {"repeated", 1}};
  CHECK(report::heard_line(heard) == "12 notifications of 3 units; dropped: 5 unknown sender, 1 repeated");
  CHECK(report::heard_text(report::Screen{}, heard) ==
        "listened                  2 min 5 s\nnotifications             12 of 3 units\n"
        "dropped, unknown sender   5\ndropped, repeated         1\n");
  CHECK(report::heard_json(heard)["dropped"]["wrong digest"] == 0);
}
