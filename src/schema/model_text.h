#pragma once

#include <string>

#include "schema/model.h"
#include "schema/model_text_parts.h"
#include "smi/mib.h"
#include "smi/result.h"

namespace vergeset::schema {

/// What a model file is to be called, and which part of a MIB it is of.
struct ModelWish {
  std::string name;   ///< of the model; empty: made of the first module's
  std::string root;   ///< the name or the object identifier of a node; empty: what all objects share
  std::string files;  ///< where the MIB came from, for the head of the file
};

struct ModelText {
  std::string name;  ///< of the model
  std::string text;  ///< the model file
  ModelParts parts;  ///< what is in it and what is not; points into the Mib
};

/// A model file of all objects and notifications of a MIB, in the format of schemas/README.md. A MIB says
/// nothing of what a SET does to a unit: all that a person has to look at bears the word "review".
/// Descriptions are others' texts and not taken over: of an object's a comment says one word that stands in
/// it, of a notification's the first sentence is kept, since it is what a log tells in words.
Result<ModelText> model_text(const smi::Mib& mib, const ModelWish& wish);

/// A model file that is `based-on:` a model and has the notifications of a MIB alone, without those that the
/// base has, and without the objects that it has.
Result<ModelText> based_model_text(const smi::Mib& mib, const ModelWish& wish, const Model& base);

}  // namespace vergeset::schema
