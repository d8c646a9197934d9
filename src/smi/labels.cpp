#include <fmt/format.h>

#include <algorithm>

#include "smi/codecs.h"
#include "smi/form.h"
#include "smi/octet.h"
#include "smi/suggest.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

/// The label of a name: as it is spelled, else in another case where that is only one.
const Label* named(const std::vector<Label>& labels, std::string_view name) {
  const auto exact = std::ranges::find(labels, name, &Label::name);
  if (exact != labels.end()) return &*exact;
  const std::string small = lower(name);
  const Label* found = nullptr;
  for (const Label& label : labels) {
    if (lower(label.name) != small) continue;
    if (found) return nullptr;
    found = &label;
  }
  return found;
}

const Label* numbered(const std::vector<Label>& labels, std::int64_t number) {
  const auto found = std::ranges::find(labels, number, &Label::number);
  return found == labels.end() ? nullptr : &*found;
}

std::string did_you_mean(std::string_view wrong, const std::vector<Label>& labels) {
  std::vector<std::string> names;
  for (const Label& label : labels) names.push_back(label.name);
  return suggestion(wrong, names);
}

/// The fewest octets that hold every bit with a label.
std::size_t octets_for(const std::vector<Label>& labels) {
  std::int64_t highest = -1;
  for (const Label& label : labels) highest = std::max(highest, label.number);
  return static_cast<std::size_t>(highest + 8) / 8;
}

// Bit 0 is the high bit of the first octet (RFC 2578 7.1.4).
bool bit(std::string_view octets, std::size_t number) {
  return number / 8 < octets.size() && ((octet_at(octets, number / 8) >> (7 - number % 8)) & 1) != 0;
}

void set_bit(std::string& octets, std::size_t number) {
  octets[number / 8] = octet(octet_at(octets, number / 8) | 0x80U >> number % 8);
}

Result<std::string> bits_from_hex(const Syntax& syntax, std::string_view words) {
  auto octets = from_hex(*behind_0x(words));
  if (!octets) return Problem{octets.problem()};
  if (const auto stray = undefined_bit(syntax, *octets))
    return Problem{fmt::format("bit {} of {} has no label in {}", *stray, shown(words), syntax.str())};
  std::string bits = *std::move(octets);
  bits.resize(octets_for(syntax.labels));
  return bits;
}

}  // namespace

std::string_view without_trailing(std::string_view octets, char last) {
  const auto end = octets.find_last_not_of(last);
  return end == std::string_view::npos ? std::string_view{} : octets.substr(0, end + 1);
}

Result<std::int64_t> labelled_number(const Syntax& syntax, std::string_view word) {
  const std::vector<Label>& labels = labels_of(syntax);
  if (const Label* label = named(labels, word)) return label->number;
  if (const auto number = whole_number(word); number && numbered(labels, *number)) return *number;
  return Problem{fmt::format("expected one of {}, found {}{}", labels_text(labels), shown(word),
                             did_you_mean(word, labels))};
}

std::optional<std::string> label_of(const Syntax& syntax, std::int64_t number) {
  const Label* label = numbered(labels_of(syntax), number);
  if (!label) return std::nullopt;
  return label->name;
}

std::optional<std::string> word_of(const Syntax& syntax, std::int64_t number) {
  if (syntax.form != Form::integer) return std::nullopt;
  const Label* word = numbered(syntax.words, number);
  if (!word) return std::nullopt;
  return word->name;
}

std::optional<std::int64_t> number_of_word(const Syntax& syntax, std::string_view word) {
  if (syntax.form != Form::integer) return std::nullopt;
  const Label* found = named(syntax.words, word);
  if (!found) return std::nullopt;
  return found->number;
}

Result<std::string> bits_octets(const Syntax& syntax, std::string_view words) {
  if (behind_0x(words)) return bits_from_hex(syntax, words);
  std::string octets(octets_for(syntax.labels), '\0');
  if (words == "none" && !named(syntax.labels, words)) return octets;
  bool any = false;
  while (!words.empty()) {
    const auto end = words.find_first_of(" \t\r\n,");
    const std::string_view word = words.substr(0, end);
    words = end == std::string_view::npos ? std::string_view{} : words.substr(end + 1);
    if (word.empty()) continue;
    const Label* label = named(syntax.labels, word);
    if (!label)
      return Problem{fmt::format("expected labels out of {}, or none, found {}{}", labels_text(syntax.labels),
                                 shown(word), did_you_mean(word, syntax.labels))};
    set_bit(octets, static_cast<std::size_t>(label->number));
    any = true;
  }
  if (any) return octets;
  return Problem{
      fmt::format("expected labels out of {}, or none, found nothing", labels_text(syntax.labels))};
}

std::string bits_text(const Syntax& syntax, std::string_view octets) {
  if (undefined_bit(syntax, octets)) return "0x" + to_hex(octets);
  std::string text;
  for (const Label& label : syntax.labels)
    if (bit(octets, static_cast<std::size_t>(label.number))) text += (text.empty() ? "" : " ") + label.name;
  if (!text.empty()) return text;
  return named(syntax.labels, "none") ? "0x" + to_hex(octets) : "none";
}

std::optional<std::int64_t> undefined_bit(const Syntax& syntax, std::string_view octets) {
  for (std::size_t number = 0; number < octets.size() * 8; ++number)
    if (bit(octets, number) && !numbered(syntax.labels, static_cast<std::int64_t>(number)))
      return static_cast<std::int64_t>(number);
  return std::nullopt;
}

}  // namespace vergeset::smi
