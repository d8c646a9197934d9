#include <fmt/format.h>

#include "fleet/payload_file.h"
#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

Files with_payloads(const std::string& first, const std::string& second) {
  return {
      {"fleet.yaml", least_fleet + "tables:\n  store-and-repeat:\n    rows:\n      map:\n        index: 1\n"
                                   "        payload:\n          file: payloads/{unit}-map.hex\n"},
      {"units.yaml", two_units},
      {"payloads/LK-101-map.hex", first},
      {"payloads/LK-102-map.hex", second}};
}

std::string payload_of(const Tree& tree, const std::string& unit, const std::string& object) {
  return smi::to_hex(column(tree.row(unit, "store-and-repeat", "map"), object)->value.octets);
}

void check_payload(const std::string& marked, const std::string& word) {
  check_wrong(with_payloads("0012020000", "0012020000"), "payloads/LK-102-map.hex", {marked, {word}});
}

}  // namespace

TEST_CASE("each unit has its own payload, with blanks, line ends and comments free") {
  const Tree tree(with_payloads("# a MAP, revision 0\r\n00 12\n 0200\t00 # end", "001f00"));
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(payload_of(tree, "LK-101", "rsuMsgRepeatPayload") == "0012020000");
  CHECK(payload_of(tree, "LK-102", "rsuSRMPayload") == "001f00");
}

TEST_CASE("what is no payload is told with its place in the file") {
  check_payload("0012\n02@@0", "odd number of hex digits");
  check_payload("# MAP\n001@@G", "expected hex digits, found G");
  check_payload("00@@\xc3\xa4", "octet c3");
  // at most 2302 octets: both RSU standards, after IEEE 1609.3
  std::string large(std::size_t{2302} * 2, '0');
  check_payload(large + "\n@@00", "at most 2302 octets");
  large.replace(0, 4, "0012");
  CHECK_FALSE(Tree(with_payloads(large, large)).faults.any());
}

TEST_CASE("an empty payload file is told") {
  const Tree tree(with_payloads("# later\n", "0012"));
  CHECK(tree.faults.sorted().size() == 1);
  CHECK(says(tree.report(), {"payloads/LK-101-map.hex: holds no hex digits"}));
}

TEST_CASE("a file that is missing is told where it is named, once for all units") {
  Files files = with_payloads("0012", "0012");
  files.erase("payloads/LK-101-map.hex");
  const Tree one(files);
  CHECK(one.faults.sorted().size() == 1);
  CHECK(says(one.report(), {"fleet.yaml:10:17: ", "payloads/LK-101-map.hex is missing", "(unit LK-101)"}));
  files.erase("payloads/LK-102-map.hex");
  const Tree both(files);
  INFO(both.report());
  CHECK(both.faults.sorted().size() == 1);
  CHECK(says(both.report(), {"LK-101-map.hex is missing", "(unit LK-101 and 1 more unit)"}));
}

TEST_CASE("a file outside the fleet, or for a number, is refused") {
  const Files files = {{"fleet.yaml", least_fleet}, {"units.yaml", two_units}};
  const auto setting = [](const std::string& name, const std::string& path) {
    return least_fleet + "settings:\n  " + name + ":\n    file: @@" + path + "\n";
  };
  check_wrong(files, "fleet.yaml", {setting("unit-id", "/etc/hostname"), {"within the fleet's folder"}});
  check_wrong(files, "fleet.yaml", {setting("unit-id", "payloads/../../x"), {"within the fleet's folder"}});
  check_wrong(files, "fleet.yaml", {setting("notify-port", "payloads/x.hex"), {"cannot come from a file"}});
  check_wrong(files, "fleet.yaml", {setting("unit-id", "groups"), {"groups"}});
}

TEST_CASE("a payload that the object cannot hold is told") {
  Files files = with_payloads("", "");
  files["payloads/id.hex"] = std::string(66, '4');
  // DisplayString (SIZE(0..32)): both object lists, rsuID
  check_wrong(files, "fleet.yaml",
              {least_fleet + "settings: {unit-id: {file: @@payloads/id.hex}}\n", {"unit-id", "33"}});
}

TEST_CASE("a payload file that a thousand units name is read once and told once") {
  std::string units = "units:\n";
  for (int i = 1; i <= 300; ++i) {
    units += fmt::format("  LK-{}: {{address: 127.1.{}.{}, model: rsu-4.1}}\n", i, i / 200, i % 200 + 1);
  }
  check_wrong(
      {{"fleet.yaml", least_fleet + "settings: {unit-id: {file: payloads/id.hex}}\n"}, {"units.yaml", units}},
      "payloads/id.hex", {"41@@4", {"odd number"}});
}
