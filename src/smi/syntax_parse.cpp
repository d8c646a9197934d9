#include <fmt/format.h>

#include <algorithm>

#include "smi/form.h"
#include "smi/suggest.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

bool blank(char letter) {
  return trimmed({&letter, 1}).empty();
}
bool digit(char letter) {
  return letter >= '0' && letter <= '9';
}
bool letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/// Goes through the notation from left to right. White space between its parts counts for nothing.
class Notation {
 public:
  explicit Notation(std::string_view text) : rest_(trimmed(text)) {}

  bool done() const { return rest_.empty(); }
  std::string_view rest() const { return rest_; }

  /// Steps over `part` if it stands next.
  bool take(std::string_view part) {
    if (!rest_.starts_with(part)) return false;
    step(part.size());
    return true;
  }

  /// A word of letters, digits, dashes and underscores that starts with a letter; empty where none.
  std::string_view word() {
    if (rest_.empty() || !letter(rest_.front())) return {};
    const auto end =
        std::ranges::find_if_not(rest_, [](char c) { return letter(c) || digit(c) || c == '-' || c == '_'; });
    return step(static_cast<std::size_t>(end - rest_.begin()));
  }

  std::optional<std::int64_t> number() {
    std::size_t length = !rest_.empty() && rest_.front() == '-' ? 1 : 0;
    while (length < rest_.size() && digit(rest_[length])) ++length;
    const auto number = whole_number(rest_.substr(0, length));
    if (number) step(length);
    return number;
  }

  Problem expected(std::string_view what) const {
    return {fmt::format("expected {}, found {}", what, shown(rest_))};
  }

 private:
  std::string_view step(std::size_t length) {
    const std::string_view part = rest_.substr(0, length);
    rest_.remove_prefix(length);
    while (!rest_.empty() && blank(rest_.front())) rest_.remove_prefix(1);
    return part;
  }

  std::string_view rest_;
};

Result<const FormRule*> read_name(Notation& notation) {
  const std::string_view whole = notation.rest();
  std::string name(notation.word());
  if (name == "OCTET" && notation.take("STRING")) name = "OCTET STRING";
  if (name == "OBJECT" && notation.take("IDENTIFIER")) name = "OBJECT IDENTIFIER";
  std::vector<std::string> known;
  for (const FormRule& rule : form_rules()) {
    if (rule.name == name) return &rule;
    known.emplace_back(rule.name);
  }
  return Problem{fmt::format("expected a syntax such as Integer32 (0..15), found {}{}", shown(whole),
                             suggestion(name, known))};
}

Result<Range> read_range(Notation& notation) {
  const auto low = notation.number();
  if (!low) return notation.expected("a number");
  if (!notation.take("..")) return Range{*low, *low};
  const auto high = notation.number();
  if (!high) return notation.expected("a number behind ..");
  if (*high < *low) return Problem{fmt::format("the range {}..{} runs backwards", *low, *high)};
  return Range{*low, *high};
}

std::optional<Problem> misfit(const FormRule& rule, const std::vector<Range>& ranges) {
  for (std::size_t at = 0; at < ranges.size(); ++at) {
    if (ranges[at].low < rule.widest.front().low || ranges[at].high > rule.widest.back().high)
      return Problem{fmt::format("{} cannot hold {}: it allows {} at most", rule.name,
                                 ranges_text({ranges[at]}), ranges_text(rule.widest))};
    if (at > 0 && ranges[at].low <= ranges[at - 1].high)
      return Problem{fmt::format("the ranges {} overlap or are out of order", ranges_text(ranges))};
  }
  return std::nullopt;
}

/// "(0..15)", "(SIZE(0|6))", or nothing.
Result<std::vector<Range>> read_ranges(Notation& notation, const FormRule& rule) {
  std::vector<Range> ranges;
  if (rule.bound == Bound::nothing || !notation.take("(")) return ranges;
  const bool sized = rule.bound == Bound::size;
  if (sized && !(notation.take("SIZE") && notation.take("(")))
    return notation.expected("SIZE(...), which is what bounds " + std::string(rule.name));
  do {
    auto range = read_range(notation);
    if (!range) return Problem{range.problem()};
    ranges.push_back(*range);
  } while (notation.take("|"));
  if (!notation.take(")") || (sized && !notation.take(")"))) return notation.expected("| or )");
  if (auto problem = misfit(rule, ranges)) return *std::move(problem);
  return ranges;
}

std::optional<Problem> twice(const std::vector<Label>& labels, const Label& label) {
  for (const Label& other : labels) {
    if (other.name == label.name) return Problem{fmt::format("the label {} stands twice", label.name)};
    if (other.number == label.number)
      return Problem{
          fmt::format("the labels {} and {} have one number, {}", other.name, label.name, label.number)};
  }
  return std::nullopt;
}

/// "{ off(0), on(1) }"
Result<std::vector<Label>> read_labels(Notation& notation, const FormRule& rule) {
  constexpr Range bit_numbers{0, 2047};  // 256 octets of bits are more than any object has
  const Range numbers = rule.form == Form::bits ? bit_numbers : rule_of(Form::integer).widest.front();
  std::vector<Label> labels;
  if (!notation.take("{"))
    return notation.expected("{ label(number), ... } behind " + std::string(rule.name));
  do {
    Label label{std::string(notation.word()), 0};
    if (label.name.empty()) return notation.expected("a label");
    if (!notation.take("(")) return notation.expected("(number) behind the label " + label.name);
    const auto number = notation.number();
    if (!number) return notation.expected("the number of the label " + label.name);
    label.number = *number;
    if (!among({numbers}, label.number))
      return Problem{fmt::format("the number of the label {} is {}, expected {}", label.name, label.number,
                                 ranges_text({numbers}))};
    if (!notation.take(")")) return notation.expected("a closing ) behind the number of " + label.name);
    if (auto problem = twice(labels, label)) return *std::move(problem);
    labels.push_back(std::move(label));
  } while (notation.take(","));
  if (!notation.take("}")) return notation.expected(", or }");
  return labels;
}

}  // namespace

Result<Syntax> Syntax::parse(std::string_view text) {
  Notation notation(text);
  const auto rule = read_name(notation);
  if (!rule) return Problem{rule.problem()};
  Syntax syntax;
  syntax.form = (*rule)->form;
  if (syntax.form == Form::enumeration || syntax.form == Form::bits) {
    auto labels = read_labels(notation, **rule);
    if (!labels) return Problem{labels.problem()};
    syntax.labels = *std::move(labels);
  }
  if (syntax.form == Form::row_status) syntax.labels = row_status_labels();
  auto ranges = read_ranges(notation, **rule);
  if (!ranges) return Problem{ranges.problem()};
  syntax.ranges = *std::move(ranges);
  if (!notation.done()) return notation.expected("nothing more behind " + syntax.str());
  return syntax;
}

std::string Syntax::str() const {
  const FormRule& rule = rule_of(form);
  std::string text(rule.name);
  if (form == Form::enumeration || form == Form::bits) text += fmt::format(" {{ {} }}", labels_text(labels));
  if (ranges.empty() || rule.bound == Bound::nothing) return text;
  if (rule.bound == Bound::size) return text + fmt::format(" (SIZE({}))", ranges_text(ranges));
  return text + fmt::format(" ({})", ranges_text(ranges));
}

Type Syntax::wire() const {
  return rule_of(form).wire;
}

}  // namespace vergeset::smi
