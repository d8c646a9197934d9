#include "sim/access_tables.h"

#include "catch.h"
#include "sim/access_names.h"
#include "sim/control.h"
#include "sim/sim_unit.h"
#include "small_model.h"

using namespace vergeset;
using namespace small;
using sim::AccessTables;
using sim::Status;

namespace {

const smi::Oid user_status = *smi::Oid::parse("1.3.6.1.6.3.15.1.2.2.1.13.2.128.0.1.120");
const smi::Oid auth_change = *smi::Oid::parse("1.3.6.1.6.3.15.1.2.2.1.6.2.128.0.1.120");
const smi::Oid group_name = *smi::Oid::parse("1.3.6.1.6.3.16.1.2.1.3.3.1.120");

AccessTables some_tables() {
  AccessTables tables;
  tables.users.push_back({"engine", "night", "night \"x\"", smi::Oid{0, 0}, smi::Oid{1, 3, 6},
                          smi::Oid{1, 3, 7}, std::string("\x00\xff", 2), "key", "", 1, 3});
  tables.users.push_back(
      {"engine", "gone", "gone", {}, smi::Oid{1, 3}, smi::Oid{1, 3}, "", "", "note", 3, 2});
  tables.groups.push_back({3, "night", "managers", 1, 4});
  tables.accesses.push_back({"managers", "", 3, 2, 1, {"all", "some", ""}, 1, 3});
  tables.views.push_back({"all", smi::Oid{1}, "\x80", 2, 1, 3});
  return tables;
}

}  // namespace

TEST_CASE("users and access are written as text and read back the same") {
  const auto read = sim::access_of_text(sim::access_text(some_tables()));
  REQUIRE(read);
  CHECK(*read == some_tables());
}

TEST_CASE("a text of users that is damaged is refused with its line") {
  const std::string text = sim::access_text(some_tables());
  CHECK(sim::access_of_text("").problem() == "knows no user");
  CHECK(sim::access_of_text("x").problem() == "line 1: is no JSON object");
  CHECK(sim::access_of_text(text + "{\"table\":\"usmUserTable\"}\n").problem() ==
        "line 6: a member is missing or of the wrong kind");
  std::string other = text;
  other.replace(other.find("vacmAccessTable"), 15, "vacmOtherTable!");
  CHECK(sim::access_of_text(other).problem() == "line 4: there is no table 'vacmOtherTable!'");
  std::string odd = text;
  odd.replace(odd.find("00ff"), 4, "00fg");
  CHECK(sim::access_of_text(odd).problem().substr(0, 18) == "line 1: auth-key: ");
}

TEST_CASE("a reboot leaves what is not volatile: RFC 2579 StorageType") {
  const AccessTables left = sim::lasting(some_tables());
  REQUIRE(left.users.size() == 1);
  CHECK(left.users[0].name == "night");
  CHECK(left.groups.size() == 1);
}

TEST_CASE("objects of users and access are told apart by name: RFC 3414 5, RFC 3415 4") {
  CHECK(sim::of_access(user_status));
  CHECK(sim::of_access(group_name));
  CHECK_FALSE(sim::of_access(scalar(1)));
  CHECK_FALSE(sim::of_access(*smi::Oid::parse("1.3.6.1.6.3.15.1.1.1.0")));  // usmStats
  CHECK(sim::names_access("usmUserStatus", user_status));
  CHECK(sim::names_access("usmUserTable", auth_change));
  CHECK(sim::names_access("usmUserAuthKeyChange", auth_change));
  CHECK(sim::names_access("vacmGroupName", group_name));
  CHECK_FALSE(sim::names_access("usmUserStatus", auth_change));
}

TEST_CASE("a SET of users and of settings is judged as one, and each keeps its place") {
  Bench bench;
  sim::SimUnit unit(bench.store);
  const std::int64_t now = start + 1000;
  const auto clash = unit.check({put(user_status, 6), put(scalar(1), "x"), put(scalar(3), "x")}, now);
  CHECK_FALSE(clash.ok());
  CHECK(clash.index == 3);

  REQUIRE(unit.check({put(user_status, 6), put(scalar(1), "x")}, now).ok());
  CHECK(unit.carries_out(user_status));
  unit.commit(now);
  CHECK(unit.store.get(scalar(1), now) == smi::Value::of_octets("x"));

  REQUIRE(sim::obey(unit, "refuse usmUserStatus resourceUnavailable 1", now) == "ok\n");
  const auto refused = unit.check({put(scalar(1), "y"), put(user_status, 6)}, now);
  CHECK(refused.status == Status::resource_unavailable);
  CHECK(refused.index == 2);
  REQUIRE(sim::obey(unit, "ignore usmUserTable 1", now) == "ok\n");
  REQUIRE(unit.check({put(scalar(1), "y"), put(user_status, 6)}, now).ok());
  CHECK_FALSE(unit.carries_out(user_status));
  CHECK(unit.carries_out(scalar(1)));
}

TEST_CASE("forget-users N has the next N reboots forget users, and loss of all forgets them anyway") {
  Bench bench;
  sim::SimUnit unit(bench.store);
  REQUIRE(sim::obey(unit, "forget-users 1", start) == "ok\n");
  for (const bool forgets : {true, false}) {
    REQUIRE(sim::obey(unit, "reboot", start) == "ok\n");
    const auto reboot = unit.take_reboot();
    REQUIRE(reboot);
    CHECK(reboot->forgets_access == forgets);
    CHECK_FALSE(reboot->lose);
  }
  sim::obey(unit, "reboot lose", start);
  CHECK(unit.take_reboot()->forgets_access);
  CHECK(sim::obey(unit, "forget-users x", start) == "error: forget-users takes a number of reboots\n");
}
