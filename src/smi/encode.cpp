#include <fmt/format.h>

#include "smi/codecs.h"
#include "smi/form.h"
#include "smi/numbers.h"
#include "smi/octet.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

Problem expected(const Syntax& syntax, std::string_view found) {
  return {fmt::format("expected {}, found {}", syntax_words(syntax), found)};
}

Result<Value> encode_number(const Syntax& syntax, std::string_view word) {
  const Type wire = syntax.wire();
  if (syntax.form == Form::counter64) {
    const auto number = unsigned_number(word);
    const auto pattern = static_cast<std::int64_t>(number.value_or(0));
    const bool allowed = syntax.ranges.empty() || (pattern >= 0 && among(syntax.ranges, pattern));
    if (!number || !allowed) return expected(syntax, shown(word));
    return Value::of_number(wire, pattern);
  }
  auto number = whole_number(word);
  if (!number) number = number_of_word(syntax, word);
  if (!number || !among(ranges_of(syntax), *number)) return expected(syntax, shown(word));
  if (syntax.form == Form::octet_number) return Value::of_octets({octet(*number)});
  if (!fits(wire, *number)) return expected(syntax, shown(word));
  return Value::of_number(wire, *number);
}

Result<Value> encode_label(const Syntax& syntax, std::string_view word) {
  const auto number = labelled_number(syntax, word);
  if (!number) return Problem{number.problem()};
  return Value::integer(*number);
}

/// Whether BER can carry it: two arcs at least, the first 0 to 2, the second below 40 under 0 and 1
/// (X.690 8.19.4).
bool carried(const Oid& oid) {
  return oid.size() >= 2 && oid.arcs()[0] <= 2 && (oid.arcs()[0] == 2 || oid.arcs()[1] < 40);
}

Result<Value> encode_oid(std::string_view word) {
  auto oid = Oid::parse(word);
  if (!oid) return Problem{oid.problem()};
  if (!carried(*oid))
    return Problem{fmt::format("expected an object identifier such as 1.3.6.1, found {}", shown(word))};
  return Value::of_oid(*std::move(oid));
}

Result<std::string> display_octets(std::string_view text) {
  for (std::size_t at = 0; at < text.size(); ++at)
    if (octet_at(text, at) < 0x20 || octet_at(text, at) > 0x7e)
      return Problem{fmt::format("expected printable ASCII, found {:#04x} at octet {} of {}",
                                 octet_at(text, at), at + 1, shown(text))};
  return std::string(text);
}

/// Both lengths of a DateAndTime are right by themselves; the object may take one of them only.
Result<std::string> fitting_date_time(const Syntax& syntax, std::string_view word) {
  constexpr std::size_t utc_size = 8;
  // Units hold eight zeros where no time was set (common practice, no source).
  if (word == "none" && size_allowed(syntax, utc_size)) return std::string(utc_size, '\0');
  auto octets = date_time_octets(word);
  if (!octets || size_allowed(syntax, octets->size())) return octets;
  auto other = other_length(*octets);
  if (!other) return octets;
  return *std::move(other);
}

Result<std::string> octets_from(const Syntax& syntax, std::string_view word) {
  switch (syntax.form) {
    case Form::mac:
      return mac_octets(word);
    case Form::psid:
      return psid_octets(word);
    case Form::date_time:
      return fitting_date_time(syntax, word);
    case Form::minute_stamp:
      return minute_stamp_octets(word);
    case Form::time_of_day:
      return time_of_day_octets(word);
    case Form::address_text:
      return address_text_octets(word);
    case Form::address_octets:
      return address_octets_of(word);
    default:
      return hex_octets(word);
  }
}

Result<Value> sized(const Syntax& syntax, Result<std::string> octets, std::string_view word) {
  if (!octets) return Problem{octets.problem()};
  if (!size_allowed(syntax, octets->size()))
    return expected(
        syntax, fmt::format("{} octet{} in {}", octets->size(), octets->size() == 1 ? "" : "s", shown(word)));
  return Value::of_octets(*std::move(octets));
}

Result<Value> encode_octets(const Syntax& syntax, std::string_view word) {
  if ((word.empty() || word == "none") && size_allowed(syntax, 0)) return Value::of_octets({});
  return sized(syntax, octets_from(syntax, word), word);
}

Result<Value> encode_ip(std::string_view word) {
  auto octets = ipv4_octets(word);
  if (!octets) return Problem{octets.problem()};
  return Value{Type::ip_address, 0, *std::move(octets), {}};
}

Result<Value> encode_bits(const Syntax& syntax, std::string_view words) {
  auto octets = bits_octets(syntax, words);
  if (!octets) return Problem{octets.problem()};
  return Value::of_octets(*std::move(octets));
}

}  // namespace

Result<Value> encode(const Syntax& syntax, std::string_view text) {
  const std::string_view word = trimmed(text);
  switch (syntax.form) {
    case Form::integer:
    case Form::counter:
    case Form::counter64:
    case Form::gauge:
    case Form::time_ticks:
    case Form::octet_number:
      return encode_number(syntax, word);
    case Form::enumeration:
    case Form::row_status:
      return encode_label(syntax, word);
    case Form::bits:
      return encode_bits(syntax, word);
    case Form::object_id:
      return encode_oid(word);
    case Form::ip_address:
      return encode_ip(word);
    case Form::display_string:
      return sized(syntax, display_octets(text), text);
    default:
      return encode_octets(syntax, word);
  }
}

}  // namespace vergeset::smi
