#include <fmt/format.h>

#include "smi/codecs.h"
#include "smi/form.h"
#include "smi/numbers.h"
#include "smi/octet.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

std::string raw(std::string_view octets) {
  return octets.empty() ? "none" : "0x" + to_hex(octets);
}

/// No text is longer by any of the standards (DisplayString: RFC 2579).
constexpr std::size_t longest_text = 255;

/// The beginning of what is longer than a person reads, or any standard allows.
std::string cut(const Syntax& syntax, std::string_view octets) {
  constexpr std::size_t shown_octets = 40;
  const bool text = syntax.form == Form::display_string || syntax.form == Form::address_text;
  const std::string_view head = octets.substr(0, shown_octets);
  return fmt::format("{}... ({} octets)", text ? escaped(head) : raw(head), octets.size());
}

/// A value that is of another type than its object.
std::string with_type(const Value& value) {
  std::string text;
  if (integer_kind(value.type))
    text = number_text(value);
  else if (value.type == Type::object_id)
    text = value.oid->str();
  else if (value.type != Type::null)
    text = value.octets.empty()                 ? "empty"
           : value.octets.size() > longest_text ? cut(Syntax{}, value.octets)
                                                : raw(value.octets);
  return text.empty() ? std::string(type_name(value.type))
                      : fmt::format("{} ({})", text, type_name(value.type));
}

std::string number_words(const Syntax& syntax, const Value& value) {
  if (const auto label = label_of(syntax, value.number)) return *label;
  if (const auto word = word_of(syntax, value.number)) return *word;
  return number_text(value);
}

std::string time_words(std::string_view octets) {
  return no_time(octets) ? "none" : date_time_text(octets).value_or(raw(octets));
}

std::string octets_words(const Syntax& syntax, std::string_view octets) {
  if (octets.size() > longest_text && syntax.form != Form::octets) return cut(syntax, octets);
  if (syntax.form == Form::display_string) return escaped(without_trailing(octets, '\0'));
  if (syntax.form == Form::bits) return bits_text(syntax, octets);
  if (octets.empty()) return "none";
  switch (syntax.form) {
    case Form::octets:
      return to_hex(octets);
    case Form::mac:
      return octets.size() == 6 ? mac_text(octets) : raw(octets);
    case Form::psid:
      return psid_text(octets);
    case Form::date_time:
    case Form::minute_stamp:
      return time_words(octets);
    case Form::time_of_day:
      return time_of_day_text(octets).value_or(raw(octets));
    case Form::address_text:
      return canonical_address(octets).value_or(escaped(without_trailing(octets, '\0')));
    case Form::address_octets:
      return address_octets_text(octets).value_or(raw(octets));
    case Form::ip_address:
      return ipv4_text(octets).value_or(raw(octets));
    case Form::octet_number:
      return octets.size() == 1 ? std::to_string(octet_at(octets, 0)) : raw(octets);
    default:
      return raw(octets);
  }
}

}  // namespace

std::string to_text(const Syntax& syntax, const Value& value) {
  if (value.absent()) return "none";
  const Type wire = syntax.wire();
  if (integer_kind(wire) && integer_kind(value.type)) return number_words(syntax, value);
  if (value.type != wire) return with_type(value);
  if (wire == Type::object_id) return value.oid->str();
  return octets_words(syntax, value.octets);
}

}  // namespace vergeset::smi
