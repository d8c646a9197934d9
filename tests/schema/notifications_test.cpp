#include "catch.h"
#include "schema/model_text_parts.h"
#include "schema/small_model.h"

using namespace vergeset;
using namespace vergeset::schema;

namespace {

void check_fault(const std::string& marked, const std::string& words) {
  const Marked text(small_table + "notifications:\n" + marked);
  const Loaded loaded({{"m.yaml", text.text}});
  CHECK(loaded.unlike(text.place("schemas/m.yaml") + ": " + words) == "");
}

}  // namespace

TEST_CASE("a model names what its units say unasked, and the variables that only these bring") {
  const Loaded loaded(
      {{"m.yaml", small_table + "notifications:\n"
                                "  doorOpen:\n    oid: 0.5\n    about: the cabinet was opened\n"
                                "    objects:\n      door: {oid: 9.1, syntax: \"INTEGER { front(1) }\"}\n"
                                "  lampOut: {absolute: 1.3.6.1.4.1.99999.1}\n"}});
  REQUIRE(loaded.report().empty());
  const Model& model = *loaded.schema.model("m");
  const auto open = model.notifications.find(*smi::Oid::parse(model.root.str() + ".0.5"));
  REQUIRE(open != model.notifications.end());
  CHECK(open->second.name == "doorOpen");
  CHECK(open->second.about == "the cabinet was opened");
  CHECK(model.notifications.count(smi::Oid{1, 3, 6, 1, 4, 1, 99999, 1}) == 1);
  const auto door = model.told.find(*smi::Oid::parse(model.root.str() + ".9.1"));
  REQUIRE(door != model.told.end());
  CHECK(door->second.name == "door");
  CHECK(model.object_at(door->first.child(0)) == nullptr);  // nothing that a survey would read
}

TEST_CASE("both standards have the notifications of RFC 3418") {
  Faults faults;
  const Schema schema = load_schema(SOURCE_DIR "/schemas", "", faults);
  REQUIRE_FALSE(faults.any());
  // RFC 3418 snmpTraps: 1.3.6.1.6.3.1.1.5
  const std::vector<std::string> names{"coldStart", "warmStart", "linkDown", "linkUp",
                                       "authenticationFailure"};
  for (const auto& [name, model] : schema.models) {
    INFO(name);
    for (std::uint32_t i = 0; i < names.size(); ++i) {
      const auto found = model->notifications.find(smi::Oid{1, 3, 6, 1, 6, 3, 1, 1, 5}.child(i + 1));
      REQUIRE(found != model->notifications.end());
      CHECK(found->second.name == names[i]);
    }
  }
}

TEST_CASE("what is wrong with a notification is told where it stands") {
  check_fault("  @@doorOpen: yes\n", "a notification is a map");
  check_fault("  doorOpen: {absolute: @@x}\n", "\"x\"");
  check_fault("  doorOpen: {oid: 0.5, @@severity: high}\n", "");
  check_fault("  doorOpen:\n    oid: 0.5\n    objects:\n      door: {oid: 9.1, syntax: @@Door}\n", "");
  check_fault("  doorOpen:\n    oid: 0.5\n    objects:\n      @@door: 3\n", "a variable is a map");
}

TEST_CASE("what is made of MIBs passes over the notifications that every model has, and over no others") {
  Faults faults;
  const Schema schema = load_schema(SOURCE_DIR "/schemas", "", faults);
  REQUIRE_FALSE(faults.any());
  std::map<smi::Oid, std::string> every;  // schemas/system.yaml, as it is loaded
  for (const auto& [id, notification] : schema.model("rsu-4.1")->notifications) every[id] = notification.name;
  CHECK(system_notifications() == every);
}
