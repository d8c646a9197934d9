// common.yaml: names that mean the same on every model.
//
// About: src/schema/common.cpp src/schema/meaning.cpp

#include "fuzz/larkmoor.h"
#include "support/fleet_folder.h"

using namespace vergeset;

namespace {

const std::map<std::string, std::string> models = {
    {"system.yaml",
     "model: system\nroot: 1.3.6.1.2.1.1\nscalars:\n"
     "  sysName: {oid: 5, syntax: DisplayString, access: read-write}\n"},
    {"one.yaml",
     "model: one\nroot: 1.3.6.1.4.1.99\nrecognise: {object: id}\nscalars:\n"
     "  id: {oid: 1, syntax: DisplayString (SIZE(0..8)), access: read-write}\n"
     "  far: {oid: 2, syntax: Integer32 (0..100), access: read-write, unit: m}\n"
     "  kind: {oid: 3, syntax: \"INTEGER { off(0), on(1) }\", access: read-write}\n"
     "tables:\n  things:\n    oid: 6\n    index: thingIndex\n    status: thingStatus\n    columns:\n"
     "      thingIndex: {oid: 1, syntax: Integer32 (1..9), access: not-accessible}\n"
     "      thingBody: {oid: 2, syntax: OCTET STRING (SIZE(0..99)), access: read-create}\n"
     "      thingStatus: {oid: 4, syntax: RowStatus, access: read-create}\n"},
    {"two.yaml",
     "model: two\nroot: 1.3.6.1.4.1.98\nrecognise: {object: name}\nscalars:\n"
     "  name: {oid: 1, syntax: DisplayString (SIZE(0..8)), access: read-write}\n"
     "  near: {oid: 2, syntax: Integer32 (0..10000), access: read-write, unit: cm}\n"
     "  state: {oid: 3, syntax: Integer32 (0..9), access: read-write}\n"
     "tables:\n  rows:\n    oid: 6\n    index: rowIndex\n    status: rowStatus\n    columns:\n"
     "      rowIndex: {oid: 1, syntax: Integer32 (1..9), access: not-accessible}\n"
     "      rowKind: {oid: 2, syntax: Integer32 (0..65535), access: read-create}\n"
     "      rowBody: {oid: 3, syntax: OCTET STRING (SIZE(0..99)), access: read-create}\n"
     "      rowStatus: {oid: 4, syntax: RowStatus, access: read-create}\n"},
};

}  // namespace

FUZZ_TARGET(common) {
  static const test::FleetFolder folder(models);
  folder.write("common.yaml", std::string(input));
  Faults faults;
  const schema::Schema schema = schema::load_schema(folder.path(), "", faults);
  fuzz::must_tell(faults);
  if (faults.any()) return;
  for (const auto& [name, setting] : schema.settings) {
    for (const auto& [model, mapping] : setting.on) {
      fuzz::must(mapping.object != nullptr, "a setting is mapped to an object", name);
    }
  }
}
