#pragma once

#include <string>

#include "report/value_shape.h"
#include "schema/model.h"

namespace vergeset::report {

/// The names that a fleet's files may hold, as definitions of a JSON Schema (draft-07) that the hand-written
/// ones of schemas/json refer to: settings, tables with their columns, what traits go by, models, limits,
/// rules, site fields, checks at the pole, units of measure, the notation of syntaxes. Each has a description
/// for an editor to show, and the shape of its values over all models of `schema`: a value that none of them
/// takes for want of the right word, range or unit of measure is refused.
OrderedJson editor_names(const schema::Schema& schema);

/// JSON as people keep it: what fits a line of 118 columns stands on one.
std::string in_lines(const OrderedJson& json);

}  // namespace vergeset::report
