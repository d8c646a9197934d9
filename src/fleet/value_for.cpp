#include "fleet/value_for.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>

#include "smi/quantity.h"
#include "smi/suggest.h"

namespace vergeset::fleet {

namespace {

bool counts(smi::Form form) {
  return form == smi::Form::integer || form == smi::Form::counter || form == smi::Form::counter64 ||
         form == smi::Form::gauge || form == smi::Form::time_ticks || form == smi::Form::octet_number;
}

/// The object's own word, or number, for a common label; nothing where `text` is none.
std::optional<std::string> translated(const Meaning& meaning, const std::string& text) {
  if (meaning.mapping != nullptr) {
    const auto found = meaning.mapping->labels.find(text);
    if (found != meaning.mapping->labels.end()) return found->second;
  }
  if (meaning.common == nullptr || !meaning.object->syntax.labels.empty()) return std::nullopt;
  for (const smi::Label& label : meaning.common->labels) {
    if (label.name == text) return std::to_string(label.number);
  }
  return std::nullopt;
}

/// BITS are written as several labels, each of which may be a common one.
std::string translated_bits(const Meaning& meaning, const std::string& text) {
  std::string all;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t comma = std::min(text.find(',', from), text.size());
    std::string word = text.substr(from, comma - from);
    word.erase(0, std::min(word.find_first_not_of(' '), word.size()));
    word.erase(word.find_last_not_of(' ') + 1);
    all += (all.empty() ? "" : ", ") + translated(meaning, word).value_or(word);
    from = comma + 1;
  }
  return all;
}

/// The words that a common setting has for its values; empty where it has none of its own.
std::vector<std::string> common_words(const Meaning& meaning) {
  std::vector<std::string> words;
  if (meaning.mapping == nullptr) return words;
  for (const auto& [common, own] : meaning.mapping->labels) words.push_back(common);
  if (words.empty() && meaning.object->syntax.labels.empty()) {
    for (const smi::Label& label : meaning.common->labels) words.push_back(label.name);
  }
  return words;
}

/// The problem speaks in the common words where there are any: it is then one on all models.
Result<smi::Value> encoded(const Meaning& meaning, const std::string& name, const std::string& text) {
  auto value = smi::encode(meaning.object->syntax, text);
  if (value) return value;
  const std::vector<std::string> words = common_words(meaning);
  if (words.empty()) return Problem{name + ": " + value.problem()};
  return Problem{fmt::format("{}: expected one of {}, found {}{}", name, fmt::join(words, ", "), text,
                             smi::suggestion(text, words))};
}

/// Whether a text is the number of a label. On a common setting that is refused: alternating is 4 on one
/// model and 1 on another, where 1 means something else on the first.
bool is_label_number(const Meaning& meaning, const std::string& text) {
  return meaning.common != nullptr && meaning.object->syntax.form == smi::Form::enumeration &&
         !text.empty() && text.find_first_not_of("0123456789") == std::string::npos;
}

Problem no_number(const Meaning& meaning, const std::string& name, const std::string& text) {
  std::vector<std::string> words = common_words(meaning);
  if (words.empty()) {
    for (const smi::Label& label : meaning.object->syntax.labels) words.push_back(label.name);
  }
  return Problem{
      fmt::format("{}: expected one of {}, found {}; a number means one thing on one model and "
                  "another on the next",
                  name, fmt::join(words, ", "), text)};
}

/// A number with a unit of measure, counted in the object's own. Where a common setting demands a
/// unit, the same bare number would mean metres on one model and centimetres on the other.
Result<smi::Value> counted(const Meaning& meaning, const std::string& name, const std::string& text) {
  const bool demanded = meaning.common != nullptr && !meaning.common->unit.empty();
  const auto quantity = smi::Quantity::parse(text);
  if (demanded && !quantity) {
    return Problem{
        fmt::format("{} needs a number with a unit ({}); found {}", name, meaning.common->unit, text)};
  }
  if (demanded && quantity->unit.empty()) {
    return Problem{fmt::format("{} needs a unit, as in {} {}; found {}", name, quantity->number.str(),
                               meaning.common->unit, text)};
  }
  if (demanded && !smi::same_dimension(quantity->unit, meaning.common->unit)) {
    const auto why = smi::in_unit(*quantity, meaning.common->unit);
    return Problem{fmt::format("{} is given in {}: {}", name, meaning.common->unit,
                               why ? "found " + text : why.problem())};
  }
  const std::string& unit =
      meaning.object->unit.empty() && demanded ? meaning.common->unit : meaning.object->unit;
  if (!quantity || quantity->unit.empty() || unit.empty()) return encoded(meaning, name, text);
  const auto number = smi::in_unit(*quantity, unit);
  if (!number) return Problem{name + ": " + number.problem()};
  auto value = smi::encode(meaning.object->syntax, std::to_string(*number));
  if (!value) return Problem{fmt::format("{}: {}: {}", name, text, value.problem())};
  return value;
}

}  // namespace

Result<smi::Value> value_for(const Meaning& meaning, const std::string& name, const std::string& text) {
  const smi::Form form = meaning.object->syntax.form;
  if (form == smi::Form::bits) return encoded(meaning, name, translated_bits(meaning, text));
  if (is_label_number(meaning, text)) return no_number(meaning, name, text);
  if (const auto own = translated(meaning, text)) return encoded(meaning, name, *own);
  if (counts(form)) return counted(meaning, name, text);
  return encoded(meaning, name, text);
}

Result<std::int64_t> message_id_for(const schema::CommonSetting& common, const std::string& text) {
  std::vector<std::string> names;
  for (const smi::Label& label : common.labels) {
    if (label.name == text) return label.number;
    names.push_back(label.name);
  }
  std::int64_t number = 0;
  const char* const last = text.data() + text.size();
  const auto [end, error] = std::from_chars(text.data(), last, number);
  if (error == std::errc() && end == last && number >= 0 && number <= 0xffff) return number;
  return Problem{"expected a message's name or number 0 to 65535 for " + common.name + ", found " + text +
                 smi::suggestion(text, names)};
}

std::string message_name(const schema::CommonSetting& common, std::int64_t id) {
  for (const smi::Label& label : common.labels) {
    if (label.number == id) return fmt::format("{} ({})", label.name, id);
  }
  return fmt::format("message {}", id);
}

}  // namespace vergeset::fleet
