#pragma once

#include <string>
#include <vector>

#include "schema/model.h"
#include "schema/scratch.h"

namespace vergeset::schema {

/// The smallest system.yaml.
inline const std::string small_system =
    "model: system\nroot: 1.3.6.1.2.1.1\nscalars:\n"
    "  sysName: {oid: 5, syntax: DisplayString, access: read-write}\n";

/// A model to which tests append scalars: it ends inside `scalars:`.
inline const std::string small_scalars =
    "model: m\n"
    "root: 1.3.6.1.4.1.99\n"
    "recognise: {object: id}\n"
    "scalars:\n"
    "  id: {oid: 1, syntax: DisplayString (SIZE(0..8)), access: read-write}\n"
    "  mode: {oid: 2, syntax: \"INTEGER { standby(2), operate(3) }\", access: read-write}\n"
    "  state: {oid: 3, syntax: \"INTEGER { standby(2), operate(3), fault(4) }\", access: read-only}\n"
    "  most: {oid: 4, syntax: Integer32 (1..9), access: read-only, unit: rows}\n"
    "  far: {oid: 5, syntax: Integer32 (0..100), access: read-write, unit: m}\n";

/// And one that ends inside the columns of a table.
inline const std::string small_table =
    small_scalars +
    "tables:\n"
    "  things:\n"
    "    oid: 6\n"
    "    index: thingIndex\n"
    "    columns:\n"
    "      thingIndex: {oid: 1, syntax: Integer32 (1..9), access: not-accessible}\n"
    "      thingName: {oid: 2, syntax: DisplayString, access: read-create}\n";

/// Loads a folder of files, with system.yaml added where it is not among them. `own` files stand in
/// a second folder, models.
struct Loaded {
  Scratch scratch;
  Faults faults;
  Schema schema;

  using Files = std::vector<std::pair<std::string, std::string>>;

  explicit Loaded(const Files& files, const Files& own = {}) {
    scratch.write("schemas/system.yaml", small_system);
    for (const auto& [name, text] : files) scratch.write("schemas/" + name, text);
    for (const auto& [name, text] : own) scratch.write("models/" + name, text);
    schema = load_schema(scratch.path("schemas"), own.empty() ? "" : scratch.path("models"), faults);
  }

  std::string report() const {
    std::string text;
    for (const Fault& fault : faults.sorted()) text += fault.str() + "\n";
    return text;
  }

  /// Nothing where there is one fault and it begins like this; otherwise what there is instead.
  std::string unlike(const std::string& fault) const {
    const auto list = faults.sorted();
    if (list.size() == 1 && list[0].str().rfind(fault, 0) == 0) return "";
    return "expected " + fault + "\nfound " + report();
  }
};

}  // namespace vergeset::schema
