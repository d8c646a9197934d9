#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "schema/draft.h"

namespace vergeset::schema {

/// A word of a model file and what it stands for.
template <class Meaning>
struct Word {
  std::string_view word;
  Meaning meaning;
};

/// A fault that lists the words that an entry may be, with a suggestion.
void fault_word(const Entry& entry, std::string_view expected, const std::vector<std::string>& known);

/// The one of `words` that an entry says, or nothing and a fault.
template <class Meaning, std::size_t Count>
const Word<Meaning>* word_of(const Entry& entry, const std::array<Word<Meaning>, Count>& words,
                             std::string_view expected) {
  const std::string text = entry.text(expected);
  if (!entry.is_text()) return nullptr;
  std::vector<std::string> known;
  for (const Word<Meaning>& word : words) {
    if (text == word.word) return &word;
    known.emplace_back(word.word);
  }
  fault_word(entry, expected, known);
  return nullptr;
}

/// An identifier that stands below `root` in the file; empty after a fault.
smi::Oid read_oid_below(const Entry& entry, const smi::Oid& root);
/// A whole identifier, which must not stand below `root`; empty after a fault.
smi::Oid read_whole_oid(const Entry& entry, const smi::Oid& root);

/// What scalars and columns have in common. A new object must bring its syntax and access; a known
/// one keeps what the file does not say.
void read_fields(const Entry& body, Object& object, ObjectDraft& draft, bool fresh);

}  // namespace vergeset::schema
