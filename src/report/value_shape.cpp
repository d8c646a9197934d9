#include "report/value_shape.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>

#include "smi/form.h"
#include "smi/words.h"

namespace vergeset::report {

namespace {

/// A value in which something is put in: {unit}, {site.latitude}, or a name under `values:`.
constexpr std::string_view put_in_pattern = "|\\{";
constexpr std::string_view whole_number_pattern = "[-+]?(?:0[xX][0-9a-fA-F]+|[0-9]+)";

bool holds_counts(smi::Form form) {
  using enum smi::Form;
  return form == integer || form == counter || form == counter64 || form == gauge || form == time_ticks ||
         form == octet_number;
}

/// Texts that are read, as smi/encode.cpp reads them, more or less: what only reading can tell is left to it.
struct TextForm {
  smi::Form form;
  std::string_view pattern;
  std::string_view example;
};

constexpr std::string_view hex_pattern = "(?:0[xX])?[0-9a-fA-F:\\s-]*";
constexpr std::string_view address_pattern = "[0-9a-fA-F:.]*";
constexpr std::string_view time_pattern = "[0-9].*";

const std::vector<TextForm>& text_forms() {
  using enum smi::Form;
  static const std::vector<TextForm> all{
      {object_id, "[0-9.]+", "an object identifier such as 1.3.6.1"},
      {ip_address, address_pattern, "an IPv4 address"},
      {octets, hex_pattern, "octets in hex such as 0x0a1b"},
      {mac, hex_pattern, "a MAC address such as 02:00:5e:10:00:01"},
      {psid, "0[xX][0-9a-fA-F]+|\\+?[0-9]+|[pP][0-9a-fA-F:\\s-]+", "a PSID such as 0x82, 130 or p8002"},
      {date_time, time_pattern, "a time such as 2026-11-01T06:00Z"},
      {minute_stamp, time_pattern, "a time such as 2026-11-01T06:00Z"},
      {time_of_day, "[0-9]{2}:[0-9]{2}(?::[0-9]{2})?", "a time of day such as 23:59:00"},
      {address_text, address_pattern, "an IPv4 or IPv6 address"},
      {address_octets, address_pattern, "an IPv4 or IPv6 address"}};
  return all;
}

const TextForm* text_form(smi::Form form) {
  const auto found = std::ranges::find(text_forms(), form, &TextForm::form);
  return found == text_forms().end() ? nullptr : &*found;
}

bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/// Regular expressions of JSON Schema have no switch for "in any case".
std::string any_case(const std::string& word) {
  std::string pattern;
  for (const char c : word) {
    if (is_letter(c)) {
      const char other = static_cast<char>(c ^ 0x20);
      pattern += '[';
      pattern += std::min(c, other);
      pattern += std::max(c, other);
      pattern += ']';
    } else if (std::string_view("\\^$.|?*+()[]{}/").find(c) != std::string_view::npos) {
      pattern += '\\';
      pattern += c;
    } else {
      pattern += c;
    }
  }
  return pattern;
}

OrderedJson reference(const std::string& name) {
  return {{"$ref", "#/definitions/" + name}};
}

/// A value as a fleet's files have it: a text of this pattern, or one in which something is put in; {unit}
/// without quotes, which YAML reads as a map of one key; one in a list of its own. Each keyword is about its
/// own type alone, so that an editor has one thing to say of a value that does not fit.
OrderedJson written(std::vector<std::string> types, const std::string& pattern, const std::string& message) {
  types.insert(types.end(), {"object", "array"});
  return {{"type", std::move(types)},
          {"pattern", pattern + std::string(put_in_pattern)},
          {"patternErrorMessage", message},
          {"errorMessage", message},
          {"additionalProperties", {{"type", "null"}}},
          {"minProperties", 1},
          {"maxProperties", 1},
          {"items", reference("text")},
          {"minItems", 1},
          {"maxItems", 1}};
}

/// YAML makes a boolean of these, and of some of them only in its older version.
bool may_be_boolean(const std::vector<std::string>& words) {
  return std::ranges::any_of(words, [](const std::string& word) {
    const std::string small = smi::lower(word);
    return small == "yes" || small == "no" || small == "on" || small == "off" || small == "true" ||
           small == "false";
  });
}

}  // namespace

std::string in_any_case(const std::vector<std::string>& words) {
  std::string pattern;
  for (const std::string& word : words) pattern += (pattern.empty() ? "" : "|") + any_case(word);
  return "(?:" + pattern + ")";
}

std::string measure_name(smi::Dimension dimension) {
  std::string name(smi::dimension_words(dimension));
  std::ranges::replace(name, ' ', '-');
  return name;
}

OrderedJson measure_schema(smi::Dimension dimension, bool put_in) {
  std::vector<std::string> spellings;
  const auto add = [&](std::string_view spelling) {
    if (std::ranges::find(spellings, spelling) == spellings.end()) spellings.emplace_back(spelling);
  };
  for (const smi::Unit& unit : smi::units()) {
    if (unit.dimension != dimension) continue;
    add(unit.one);
    add(unit.many);
    for (const std::string_view spelling : unit.spellings) add(spelling);
  }
  // "100 ms" and "1e-7 degree" are units too.
  const std::string pattern =
      fmt::format("^\\s*[-+]?[0-9.]+\\s*(?:[0-9.]+(?:e-?[0-9]+)? +)?{}\\s*$", in_any_case(spellings));
  const std::string message = fmt::format("expected a number and a unit of {}: {}",
                                          smi::dimension_words(dimension), smi::unit_names(dimension));
  if (put_in) return written({"string"}, pattern, message);
  return {
      {"type", "string"}, {"pattern", pattern}, {"patternErrorMessage", message}, {"errorMessage", message}};
}

void ValueShape::add_word(const std::string& word) {
  if (std::ranges::find(words_, word) == words_.end()) words_.push_back(word);
}

void ValueShape::add_labels(const std::vector<smi::Label>& labels) {
  for (const smi::Label& label : labels) add_word(label.name);
}

void ValueShape::add_measure(const std::string& unit) {
  const auto measure = smi::measure_of(unit);
  if (!measure) return;
  const smi::Dimension dimension = measure->unit->dimension;
  if (std::ranges::find(measures_, dimension) == measures_.end()) measures_.push_back(dimension);
}

void ValueShape::add_numbers(smi::Range range) {
  if (!numbers_) numbers_ = range;
  numbers_->low = std::min(numbers_->low, range.low);
  numbers_->high = std::max(numbers_->high, range.high);
}

/// As fleet/value_for.cpp takes them.
void ValueShape::add_counted(const schema::Object& object, const schema::CommonSetting* common) {
  const bool demanded = common != nullptr && !common->unit.empty();
  add_measure(demanded ? common->unit : object.unit);
  if (demanded) return;
  const std::vector<smi::Range>& ranges = smi::ranges_of(object.syntax);
  // A Counter64 without ranges goes beyond what a range can say.
  add_numbers(ranges.empty() ? smi::Range{0, INT64_MAX} : smi::Range{ranges.front().low, ranges.back().high});
  add_labels(object.syntax.words);
}

void ValueShape::add(const schema::Object& object, const schema::CommonSetting* common,
                     const schema::Mapping* mapping) {
  using enum smi::Form;
  const smi::Syntax& syntax = object.syntax;
  if (mapping != nullptr) {
    for (const auto& [label, own] : mapping->labels) add_word(label);
  }
  if (common != nullptr && syntax.labels.empty()) add_labels(common->labels);
  if (syntax.form == enumeration || syntax.form == row_status) {
    add_labels(smi::labels_of(syntax));
    const std::vector<smi::Label>& labels = smi::labels_of(syntax);
    // Of a common setting a number means one thing on one model and another on the next.
    if (common != nullptr && syntax.form == enumeration) return;
    for (const smi::Label& label : labels) add_numbers({label.number, label.number});
  } else if (syntax.form == bits) {
    add_labels(syntax.labels);
    add_word("none");
    several_ = true;
  } else if (holds_counts(syntax.form)) {
    add_counted(object, common);
  } else {
    text_ = text_ || text_form(syntax.form) == nullptr;
    if (std::ranges::find(forms_, syntax.form) == forms_.end()) forms_.push_back(syntax.form);
    file_ = file_ || syntax.wire() == smi::Type::octet_string;
  }
}

void ValueShape::add(const schema::CommonSetting& common) {
  for (const auto& [model, mapping] : common.on) {
    if (mapping.object == nullptr) continue;
    if (mapping.from_payload) {
      add_labels(common.labels);
      add_numbers({0, 0xffff});
    } else {
      add(*mapping.object, &common, &mapping);
    }
  }
}

std::vector<std::string> ValueShape::patterns() const {
  std::vector<std::string> patterns;
  if (!words_.empty()) {
    const std::string word = in_any_case(words_);
    patterns.push_back(several_ ? fmt::format("{0}(?:[\\s,]+{0})*,?", word) : word);
  }
  if (several_) patterns.emplace_back("0[xX][0-9a-fA-F :.-]*");
  if (numbers_) patterns.emplace_back(whole_number_pattern);
  for (const smi::Form form : forms_) {
    if (const TextForm* one = text_form(form)) patterns.emplace_back(one->pattern);
  }
  // What may hold no octets is "" or none.
  if (file_) patterns.emplace_back("none|");
  return patterns;
}

/// What YAML makes of such words, numbers and texts.
std::vector<std::string> ValueShape::types() const {
  std::vector<std::string> types{"string"};
  if (may_be_boolean(words_)) types.emplace_back("boolean");
  if (!forms_.empty()) {
    types.emplace_back("number");
  } else if (numbers_ || several_) {
    types.emplace_back("integer");
  }
  return types;
}

/// What stands for a word that is not taken; editors that know the keyword show it in the pattern's place.
std::string ValueShape::expected() const {
  std::string text;
  const auto add = [&](const std::string& more) { text += (text.empty() ? "expected " : ", or ") + more; };
  if (!words_.empty()) add(fmt::format("{} {}", several_ ? "some of" : "one of", fmt::join(words_, ", ")));
  if (numbers_) add(fmt::format("a number from {} to {}", numbers_->low, numbers_->high));
  for (const smi::Form form : forms_) {
    if (const TextForm* one = text_form(form)) add(std::string(one->example));
  }
  for (const smi::Dimension dimension : measures_) {
    add(fmt::format("{} with its unit: {}", smi::dimension_words(dimension), smi::unit_names(dimension)));
  }
  return text;
}

OrderedJson ValueShape::text_schema(const std::string& description) const {
  OrderedJson out{{"description", description},
                  {"anyOf", {reference("text"), reference("list"), reference("placeholder")}}};
  if (file_) out["anyOf"].push_back(reference("file"));
  if (!words_.empty()) out["anyOf"].push_back({{"enum", words_}});
  return out;
}

/// Words and numbers.
OrderedJson ValueShape::words_schema() const {
  std::string pattern;
  for (const std::string& one : patterns()) pattern += (pattern.empty() ? "" : "|") + one;
  OrderedJson out = written(types(), fmt::format("^\\s*(?:{})\\s*$", pattern), expected());
  if (numbers_ && forms_.empty()) {
    out["minimum"] = numbers_->low;
    out["maximum"] = numbers_->high;
  }
  if (several_) {
    out["items"] = {{"anyOf", {{{"enum", words_}}, {{"type", "string"}, {"pattern", out["pattern"]}}}}};
    out.erase("minItems");
    out.erase("maxItems");
  }
  return out;
}

OrderedJson ValueShape::schema(const std::string& description) const {
  if (text_) return text_schema(description);
  OrderedJson any = OrderedJson::array();
  if (!words_.empty()) any.push_back({{"enum", words_}});
  if (!words_.empty() || numbers_ || !forms_.empty()) any.push_back(words_schema());
  if (file_) any.push_back(reference("file"));
  for (const smi::Dimension dimension : measures_) {
    any.push_back(reference(measure_name(dimension) + "-or-put-in"));
  }
  const char* const how = any.size() == 1 ? "allOf" : "anyOf";
  return {{"description", description}, {how, std::move(any)}};
}

}  // namespace vergeset::report
