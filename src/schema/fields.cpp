#include "schema/fields.h"

#include <fmt/format.h>

#include <limits>

#include "smi/suggest.h"
#include "smi/units.h"

namespace vergeset::schema {

namespace {

constexpr std::array<Word<Access>, 4> access_words{{{"not-accessible", Access::not_accessible},
                                                    {"read-only", Access::read_only},
                                                    {"read-write", Access::read_write},
                                                    {"read-create", Access::read_create}}};

constexpr std::array<Word<bool Traits::*>, 4> trait_words{{{"action", &Traits::action},
                                                           {"running", &Traits::running},
                                                           {"needs-standby", &Traits::needs_standby},
                                                           {"cuts-off", &Traits::cuts_off}}};

void read_traits(const Entry& entry, Traits& traits) {
  traits = {};
  for (const Entry& member : entry.members("a list of traits")) {
    if (const auto* word = word_of(member, trait_words, "a trait")) traits.*(word->meaning) = true;
  }
}

void read_syntax(const Entry& entry, Object& object) {
  const std::string text = entry.text("a syntax, such as Integer32 (0..100),");
  if (!entry.is_text()) return;
  const auto syntax = smi::Syntax::parse(text);
  if (syntax) {
    object.syntax = *syntax;
  } else {
    entry.fault(fmt::format("\"{}\" is no syntax: {}", text, syntax.problem()));
  }
}

/// What single numbers say: {unknown: 900000001}.
void read_words(const Entry& entry, Object& object) {
  for (const auto& [key, number] : entry.pairs("a map of words to numbers")) {
    const auto value = number.number("the number of a word", std::numeric_limits<std::int32_t>::min(),
                                     std::numeric_limits<std::int32_t>::max());
    if (!value) continue;
    if (object.syntax.form != smi::Form::integer || !smi::encode(object.syntax, std::to_string(*value))) {
      number.fault(fmt::format("{} is {}, which has no number {}", object.name, object.syntax.str(), *value));
      continue;
    }
    object.syntax.words.push_back({key.text("a word"), *value});
  }
}

void read_unit(const Entry& entry, Object& object) {
  object.unit = entry.text("a unit of measure");
  if (!object.unit.empty() && !smi::measure_of(object.unit)) {
    entry.fault(fmt::format("\"{}\" is no unit of measure that vergeset knows, such as m, cm, ms, s or dBm",
                            object.unit));
  }
}

}  // namespace

void fault_word(const Entry& entry, std::string_view expected, const std::vector<std::string>& known) {
  std::string list;
  for (const std::string& word : known) list += (list.empty() ? "" : ", ") + word;
  const std::string text = entry.text(expected);
  entry.fault(
      fmt::format("{} is one of {}; found \"{}\"{}", expected, list, text, smi::suggestion(text, known)));
}

smi::Oid read_oid_below(const Entry& entry, const smi::Oid& root) {
  const std::string text = entry.text("an object identifier below the root, such as 6.9,");
  if (!entry.is_text() || root.empty()) return {};
  const auto oid = smi::Oid::parse(root.str() + "." + text);
  if (!oid) {
    entry.fault(
        fmt::format("\"{}\" is no object identifier below the root: numbers with dots between", text));
    return {};
  }
  const auto whole = smi::Oid::parse(text);
  if (whole && whole->within(root) && whole->size() > root.size()) {
    entry.fault(fmt::format("\"{}\" is a whole object identifier; write what stands below the root: {}", text,
                            whole->tail(root).str()));
    return {};
  }
  return *oid;
}

smi::Oid read_whole_oid(const Entry& entry, const smi::Oid& root) {
  const std::string text = entry.text("a whole object identifier, such as 1.3.6.1.2.1.1.5,");
  if (!entry.is_text()) return {};
  const auto oid = smi::Oid::parse(text);
  if (!oid) {
    entry.fault(fmt::format("\"{}\" is no object identifier: {}", text, oid.problem()));
    return {};
  }
  if (!root.empty() && oid->within(root) && oid->size() > root.size()) {
    entry.fault(fmt::format("{} stands below the root; write `oid: {}`", text, oid->tail(root).str()));
  }
  return *oid;
}

void read_fields(const Entry& body, Object& object, ObjectDraft& draft, bool fresh) {
  if (fresh || body.at("syntax")) {
    draft.syntax = body.need("syntax");
    read_syntax(draft.syntax, object);
  }
  if (fresh || body.at("access")) {
    if (const auto* word = word_of(body.need("access"), access_words, "an access")) {
      object.access = word->meaning;
    }
  }
  if (const Entry words = body.at("words")) read_words(words, object);
  if (const Entry unit = body.at("unit")) read_unit(unit, object);
  if (const Entry initial = body.at("default")) draft.initial = initial;
  if (const Entry traits = body.at("traits")) read_traits(traits, object.traits);
  if (const Entry note = body.at("note")) object.note = note.text("a note");
}

}  // namespace vergeset::schema
