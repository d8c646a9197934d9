#include <cstdint>

#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

/// A generator of our own, so that a failing case is the same everywhere.
class Numbers {
 public:
  explicit Numbers(std::uint64_t seed) : state_(seed * 2654435769U + 1) {}
  std::size_t below(std::size_t limit) {
    state_ = state_ * 6364136223846793005U + 1442695040888963407U;
    return static_cast<std::size_t>((state_ >> 33) % limit);
  }

 private:
  std::uint64_t state_;
};

/// A model small enough to be read a thousand times.
const Files small_schema = {
    {"system.yaml",
     "model: system\nroot: 1.3.6.1.2.1.1\nscalars:\n"
     "  sysName: {oid: 5, syntax: DisplayString, access: read-write}\n"},
    {"small.yaml",
     "model: small\nroot: 1.3.6.1.4.1.99\nrecognise: {object: id}\nscalars:\n"
     "  id: {oid: 1, syntax: DisplayString (SIZE(0..32)), access: read-write}\n"
     "  far: {oid: 5, syntax: Integer32 (0..100), access: read-write, unit: m}\n"
     "tables:\n  things:\n    oid: 6\n    index: thingIndex\n    status: thingStatus\n    columns:\n"
     "      thingIndex: {oid: 1, syntax: Integer32 (1..9), access: not-accessible}\n"
     "      thingName: {oid: 2, syntax: DisplayString, access: read-create}\n"
     "      thingBody: {oid: 3, syntax: OCTET STRING (SIZE(0..99)), access: read-create}\n"
     "      thingStatus: {oid: 4, syntax: RowStatus, access: read-create}\n"}};

const Files valid = {
    {"fleet.yaml", least_fleet +
                       "waves: [1, 10%, rest]\nwindow: [Mon-Fri 22:00-05:00]\ntimeout: 900 ms\n"
                       "values: {tmc: a}\nsettings:\n  id: \"{unit} {tmc}\"\n  far: 15 m\n"
                       "tables:\n  things:\n    others: remove\n    rows:\n      one:\n"
                       "        match: [thingName]\n        thingName: \"{site.place}\"\n"
                       "        thingBody:\n          file: payloads/{unit}.hex\n"
                       "      two: {index: 2, present: no}\n"
                       "only: {small: {settings: {sysName: x}}}\ntraits: {things: {needs-standby: yes}}\n"},
    {"groups/all.yaml", "settings:\n  far: 20 m\nvalues: {tmc: b}\n"},
    {"units.yaml",
     "units:\n  LK-101:\n    address: 127.0.0.1\n    model: small\n    groups: [[all]]\n"
     "    site: {place: \"Mill Lane\", latitude: 51.5}\n"},
    {"units.csv", "unit,address,model,groups,site.place\nLK-102,127.0.0.2,small,all,\"Weir \"\"Road\"\"\"\n"},
    {"payloads/LK-101.hex", "00 12 # MAP\n0200"},
    {"payloads/LK-102.hex", "0012"}};

std::string mutated(std::string text, Numbers& numbers) {
  if (text.empty()) return text;
  const std::size_t at = numbers.below(text.size());
  static const std::string strange = "{}[]:,\"'#&*!|>%@`\n\t -;+\\";
  switch (numbers.below(6)) {
    case 0:
      return text.substr(0, at);
    case 1:
      text[at] = static_cast<char>(numbers.below(256));
      return text;
    case 2:
      text[at] = strange[numbers.below(strange.size())];
      return text;
    case 3:
      return text.erase(at, 1 + numbers.below(20));
    case 4:
      return text.insert(at, text.substr(numbers.below(text.size()), 40));
    default:
      return text.insert(at, std::string(1 + numbers.below(3000), strange[numbers.below(strange.size())]));
  }
}

}  // namespace

TEST_CASE("the files that the mutations begin with are without a fault") {
  const test::FleetFolder models(small_schema);
  const Tree tree(valid, models.path());
  INFO(tree.report());
  CHECK_FALSE(tree.faults.any());
  CHECK(tree.fleet.units.size() == 2);
  CHECK(tree.value("LK-101", "id")->value == smi::Value::of_octets("LK-101 b"));
}

TEST_CASE("a mutilated fleet never breaks the loader, and reads the same twice") {
  const test::FleetFolder models(small_schema);
  std::size_t faulty = 0;
  for (std::uint64_t seed = 0; seed < 600; ++seed) {
    Numbers numbers(seed);
    Files files = valid;
    auto victim = files.begin();
    std::advance(victim, static_cast<std::ptrdiff_t>(numbers.below(files.size())));
    victim->second = mutated(victim->second, numbers);
    INFO("seed " << seed << ": " << victim->first << "\n" << victim->second);
    const Tree tree(files, models.path());
    Faults again;
    const Fleet second = load_fleet(tree.folder.path(), models.path(), again);
    std::string report;
    for (const Fault& fault : again.sorted()) {
      report += fault.str() + "\n";
      CHECK_FALSE(fault.place.file.empty());
      CHECK_FALSE(fault.text.empty());
    }
    CHECK(report == tree.report());
    CHECK(second.units.size() == tree.fleet.units.size());
    if (tree.faults.any()) ++faulty;
  }
  // Some hit a comment or a free text; most are faults.
  CHECK(faulty > 300);
}
