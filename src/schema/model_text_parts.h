#pragma once

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
  std::vector<LeftOut> left_out;

  std::size_t columns() const;
};

/// The parts below `root`, in the order of their identifiers.
ModelParts model_parts(const smi::Mib& mib, const smi::Oid& root);

}  // namespace vergeset::schema
