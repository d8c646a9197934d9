#include <fmt/format.h>

#include <limits>

#include "smi/codecs.h"
#include "smi/form.h"
#include "smi/numbers.h"
#include "smi/octet.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

using Fault = std::optional<std::string>;

/// Why a number stands outside the ranges; `what` is the number in words.
std::string outside(const Syntax& syntax, std::int64_t number, const std::string& what) {
  const auto& ranges = ranges_of(syntax);
  const std::string all = syntax_words(syntax);
  if (number < ranges.front().low)
    return fmt::format("{} is below {}, the least that {} allows", what, ranges.front().low, all);
  if (number > ranges.back().high)
    return fmt::format("{} is above {}, the most that {} allows", what, ranges.back().high, all);
  return fmt::format("{} is none of {}, which {} allows", what, ranges_text(ranges), all);
}

Fault number_fault(const Syntax& syntax, const Value& value) {
  const bool above_int64 = value.type == Type::counter64 && value.number < 0;
  if (syntax.form == Form::counter64 && syntax.ranges.empty()) {
    if (value.type == Type::counter64 || value.number >= 0) return std::nullopt;
  } else if (!above_int64 && among(ranges_of(syntax), value.number)) {
    return std::nullopt;
  }
  const std::int64_t number = above_int64 ? std::numeric_limits<std::int64_t>::max() : value.number;
  return outside(syntax, number, number_text(value));
}

Fault label_fault(const Syntax& syntax, const Value& value) {
  if (label_of(syntax, value.number)) return std::nullopt;
  return fmt::format("{} is none of {}", number_text(value), labels_text(labels_of(syntax)));
}

Fault octet_number_fault(const Syntax& syntax, std::string_view octets) {
  if (octets.size() != 1)
    return fmt::format("{} octets came where {} wants one", octets.size(), syntax_words(syntax));
  const std::int64_t number = octet_at(octets, 0);
  if (among(ranges_of(syntax), number)) return std::nullopt;
  return outside(syntax, number, std::to_string(number));
}

Fault bits_fault(const Syntax& syntax, std::string_view octets) {
  const auto stray = undefined_bit(syntax, octets);
  if (!stray) return std::nullopt;
  return fmt::format("bit {} is set and is none of {}", *stray, labels_text(syntax.labels));
}

Fault size_fault(const Syntax& syntax, std::size_t size) {
  if (size_allowed(syntax, size)) return std::nullopt;
  const std::string what = fmt::format("a length of {} octet{}", size, size == 1 ? "" : "s");
  const auto number = static_cast<std::int64_t>(size);
  if (among(ranges_of(syntax), number))
    return fmt::format("{} is none that {} can have", what, syntax_words(syntax));
  return outside(syntax, number, what);
}

/// What is wrong with the content of octets whose size is right.
Fault content_fault(const Syntax& syntax, std::string_view octets) {
  switch (syntax.form) {
    case Form::display_string:
      return nvt_fault(octets);
    case Form::psid:
      if (const auto psid = p_decode(octets); !psid) return psid.problem();
      return std::nullopt;
    case Form::date_time:
    case Form::minute_stamp:
      if (no_time(octets) || instant_of(octets)) return std::nullopt;
      return fmt::format("0x{} is no time of calendar and clock", to_hex(octets));
    case Form::time_of_day:
      if (time_of_day_text(octets)) return std::nullopt;
      return fmt::format("0x{} is no time of day", to_hex(octets));
    case Form::address_text:
      if (parsed_address(octets)) return std::nullopt;
      return fmt::format("{} is no IPv4 or IPv6 address", shown(octets));
    default:
      return std::nullopt;
  }
}

Fault octets_fault(const Syntax& syntax, std::string_view octets) {
  if (syntax.form == Form::bits) return bits_fault(syntax, octets);
  if (syntax.form == Form::octet_number) return octet_number_fault(syntax, octets);
  if (auto fault = size_fault(syntax, octets.size())) return fault;
  return octets.empty() ? std::nullopt : content_fault(syntax, octets);
}

}  // namespace

std::optional<std::string> violation(const Syntax& syntax, const Value& value) {
  if (value.absent()) return fmt::format("there is no value ({})", type_name(value.type));
  const Type wire = syntax.wire();
  if (value.type != wire)
    return fmt::format("a value of type {} came where {} travels as {}", type_name(value.type),
                       rule_of(syntax.form).name, type_name(wire));
  if (wire == Type::object_id) return std::nullopt;
  if (!integer_kind(wire)) return octets_fault(syntax, value.octets);
  const bool labelled = syntax.form == Form::enumeration || syntax.form == Form::row_status;
  return labelled ? label_fault(syntax, value) : number_fault(syntax, value);
}

}  // namespace vergeset::smi
