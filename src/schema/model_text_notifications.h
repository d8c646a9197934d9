#pragma once

#include <set>
#include <string>
#include <vector>

#include "schema/model.h"
#include "schema/model_text_parts.h"

namespace vergeset::schema {

/// What a model has without the `notifications:` that are being written.
struct KnownToModel {
  std::set<smi::Oid> objects;
  std::map<smi::Oid, std::string> notifications;  ///< their names
};

KnownToModel known_to(const ModelParts& parts);
KnownToModel known_to(const Model& base);

/// The notifications of a MIB that stand below `root`, with the variables that a model does not know
/// otherwise: each once, with the first that brings it. What cannot be written is left out of it.
void add_notifications(const smi::Mib& mib, const smi::Oid& root, KnownToModel known, ModelParts& parts);

/// `notifications:` of a model file whose identifiers stand below `root`; empty where there is none.
std::string notifications_text(const ModelParts& parts, const smi::Oid& root);

}  // namespace vergeset::schema
