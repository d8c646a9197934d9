// A model file of a fleet's own, and the simulated unit that plays it.
//
// About: src/schema/load.cpp src/schema/fields.cpp src/schema/read_file.cpp src/schema/finish_tables.cpp
// About: src/schema/finish_rules.cpp src/schema/model.cpp src/smi/syntax_parse.cpp src/sim/factory.cpp

#include "fuzz/larkmoor.h"
#include "sim/store.h"
#include "support/fleet_folder.h"

using namespace vergeset;

namespace {

/// What every model has, and one that others may be based on.
const test::FleetFolder& schemas() {
  static const test::FleetFolder folder({
      {"system.yaml",
       "model: system\nroot: 1.3.6.1.2.1.1\nscalars:\n"
       "  sysName: {oid: 5, syntax: DisplayString, access: read-write}\n"},
      {"base.yaml",
       "model: base\nroot: 1.3.6.1.4.1.99\nrecognise: {object: id}\nscalars:\n"
       "  id: {oid: 1, syntax: DisplayString (SIZE(0..8)), access: read-write}\n"
       "  most: {oid: 4, syntax: Integer32 (1..9), access: read-only, unit: rows}\n"
       "tables:\n  things:\n    oid: 6\n    index: thingIndex\n    status: thingStatus\n    columns:\n"
       "      thingIndex: {oid: 1, syntax: Integer32 (1..9), access: not-accessible}\n"
       "      thingName: {oid: 2, syntax: DisplayString, access: read-create}\n"
       "      thingStatus: {oid: 4, syntax: RowStatus, access: read-create}\n"},
  });
  return folder;
}

void must_hang_together(const schema::Model& model) {
  for (const auto& [name, object] : model.objects) {
    fuzz::must(model.object_at(object.oid.child(object.table == nullptr ? 0 : 1)) == &object,
               "an object is found under its identifier", name);
    smi::Syntax bare = object.syntax;
    bare.words.clear();
    const auto again = smi::Syntax::parse(object.syntax.str());
    fuzz::must(again && *again == bare, "a syntax reads back the same", object.syntax.str());
    if (object.initial)
      fuzz::must(!smi::violation(object.syntax, *object.initial), "a default is one that its object takes",
                 name);
  }
}

}  // namespace

FUZZ_TARGET(model) {
  static const test::FleetFolder own({});
  own.write("mine.yaml", std::string(input));
  Faults faults;
  const schema::Schema schema = schema::load_schema(schemas().path(), own.path(), faults);
  fuzz::must_tell(faults);
  if (faults.any()) return;
  for (const auto& [name, model] : schema.models) {
    must_hang_together(*model);
    sim::Store store({model.get(), "LK-101", {}, 1500}, nullptr, 0);
    fuzz::must(store.walk(1000).size() < 1000000, "a unit of a model can be walked", name);
  }
}
