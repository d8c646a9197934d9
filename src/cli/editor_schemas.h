#pragma once

#include <string>

namespace vergeset::cli {

/// `vergeset model schemas`: the JSON Schemas by which an editor completes and checks a fleet's files, in a
/// folder of their own. They are those of schemas/json, with the names of this fleet's own models among them.
struct EditorSchemas {
  std::string fleet;  ///< its folder; one without models of its own, or without a fleet, has the standards'
  std::string out;    ///< a folder that is new, empty, or holds such schemas, which are then replaced
  bool json = false;
};

int write_editor_schemas(const EditorSchemas& options);

}  // namespace vergeset::cli
