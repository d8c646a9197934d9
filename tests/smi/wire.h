#pragma once

#include <string>
#include <string_view>

#include "catch.h"
#include "smi/syntax.h"

namespace vergeset::smi {

/// The syntax of a notation; the test fails where it is none.
inline Syntax syntax_of(std::string_view notation) {
  auto syntax = Syntax::parse(notation);
  INFO(notation);
  if (!syntax) FAIL(syntax.problem());
  return *syntax;
}

/// A text as the wire carries it: hex of octets, the number, or the dotted identifier. A refusal is
/// its problem with "refused: " in front.
inline std::string wire(std::string_view notation, std::string_view text) {
  const auto value = encode(syntax_of(notation), text);
  return value ? exact_text(*value) : "refused: " + value.problem();
}

/// Octets of a hex text.
inline std::string octets_of(std::string_view hex) {
  auto octets = from_hex(hex);
  if (!octets) FAIL(octets.problem());
  return *octets;
}

inline Value octets_value(std::string_view hex) {
  return Value::of_octets(octets_of(hex));
}

/// Octets, given in hex, in the words of a syntax.
inline std::string words(std::string_view notation, std::string_view hex) {
  return to_text(syntax_of(notation), octets_value(hex));
}

/// Whether two OCTET STRINGs, given in hex, agree.
inline bool agree_octets(std::string_view notation, std::string_view a, std::string_view b) {
  return agree(syntax_of(notation), octets_value(a), octets_value(b));
}

inline bool refused(std::string_view notation, std::string_view text) {
  return !encode(syntax_of(notation), text);
}

}  // namespace vergeset::smi
