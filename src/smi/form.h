#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "smi/syntax.h"

namespace vergeset::smi {

/// What the ranges of a syntax bound.
enum class Bound { nothing, number, size };

/// What goes without saying about a form: its name in the notation, its wire type, and its ranges.
struct FormRule {
  Form form = Form::integer;
  std::string_view name;
  Type wire = Type::null;
  Bound bound = Bound::nothing;
  std::vector<Range> usual;   ///< where the syntax gives no range
  std::vector<Range> widest;  ///< what a range may allow at most
};

const std::vector<FormRule>& form_rules();
const FormRule& rule_of(Form form);

/// The ranges that hold for a syntax: its own, or the usual ones of its form.
const std::vector<Range>& ranges_of(const Syntax& syntax);

/// The labels that hold for a syntax; those of RowStatus need not be written out.
const std::vector<Label>& labels_of(const Syntax& syntax);
const std::vector<Label>& row_status_labels();

bool among(const std::vector<Range>& ranges, std::int64_t number);

/// "0|6", "0..15".
std::string ranges_text(const std::vector<Range>& ranges);

/// "off(0), on(1)".
std::string labels_text(const std::vector<Label>& labels);

/// The syntax as a sentence wants it: with the usual ranges where it has none of its own.
std::string syntax_words(const Syntax& syntax);

/// Whether a value is of the type that the syntax travels as; any integer type is as good as another.
bool of_kind(const Syntax& syntax, const Value& value);

/// Whether a string of so many octets has a size that syntax and form allow.
bool size_allowed(const Syntax& syntax, std::size_t size);

}  // namespace vergeset::smi
