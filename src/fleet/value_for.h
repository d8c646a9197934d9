#pragma once

#include <string>

#include "schema/model.h"

namespace vergeset::fleet {

/// What a name in the files comes to on one model: the object, and where the name is a common one,
/// what is said of it there.
struct Meaning {
  const schema::Object* object = nullptr;
  const schema::CommonSetting* common = nullptr;
  const schema::Mapping* mapping = nullptr;

  bool from_payload() const { return mapping != nullptr && mapping->from_payload; }
};

/// A desired value as the object takes it: labels and units of measure of the common setting are
/// turned into the object's own. `name` is the files', for the problem.
Result<smi::Value> value_for(const Meaning& meaning, const std::string& name, const std::string& text);

/// The message id that a `from_payload` setting names: by its label or its number.
Result<std::int64_t> message_id_for(const schema::CommonSetting& common, const std::string& text);

/// "MAP (18)", or "message 99" where no label is known.
std::string message_name(const schema::CommonSetting& common, std::int64_t id);

}  // namespace vergeset::fleet
