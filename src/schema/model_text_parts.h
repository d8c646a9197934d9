#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "schema/model_text_syntax.h"
#include "smi/mib.h"

namespace vergeset::schema {

struct PartObject {
  const smi::MibObject* object = nullptr;
  TextSyntax syntax;
};

struct PartTable {
  const smi::MibObject* table = nullptr;
  std::string index;
  std::string status;  ///< the RowStatus column, or empty
  std::vector<PartObject> columns;
};

struct PartNotification {
  const smi::MibNotification* notification = nullptr;
  std::string about;
  std::vector<PartObject> brings;  ///< variables that the model does not know otherwise
};

/// What of a MIB a model cannot hold, and why.
struct LeftOut {
  std::string name;
  smi::Oid oid;
  std::string why;
};

/// A MIB as a model sees it: each object in one place, names and identifiers once. Points into the Mib.
struct ModelParts {
  std::vector<PartObject> scalars;
  std::vector<PartTable> tables;
  std::vector<PartNotification> notifications;
  std::vector<LeftOut> left_out;

  std::size_t columns() const;
};

/// What is part of each model (schemas/system.yaml; RFC 3418).
std::set<smi::Oid> system_objects();
std::map<smi::Oid, std::string> system_notifications();

/// The objects below `root`, in the order of their identifiers; notifications come later
/// (`model_text_notifications.h`).
ModelParts model_parts(const smi::Mib& mib, const smi::Oid& root);

}  // namespace vergeset::schema
