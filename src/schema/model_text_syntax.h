#pragma once

#include <string>

#include "smi/mib.h"
#include "smi/result.h"

namespace vergeset::schema {

/// The syntax of a MIB's object as the model files write it.
struct TextSyntax {
  smi::Syntax syntax;  ///< with `words` for the index of a table
  std::string guess;   ///< where the MIB does not say that it is this form: what makes us think so
  std::string remark;  ///< what of the MIB it leaves out, or how it is written otherwise
};

/// The problem where no form of ours can hold it. A form that is more than the MIB's type comes from the
/// textual convention; without one, from name, size and description, and is then a guess.
Result<TextSyntax> text_syntax(const smi::MibObject& object);

/// The same of the column that is a table's index, which a model counts as Integer32.
Result<TextSyntax> text_index_syntax(const smi::MibObject& object);

}  // namespace vergeset::schema
