#include "smi/codecs.h"
#include "smi/form.h"
#include "smi/numbers.h"

namespace vergeset::smi {

namespace {

/// RowStatus as it is meant: a unit may show createAndGo where active is meant (common practice, no
/// source).
Value meant(const Syntax& syntax, const Value& value) {
  constexpr std::int64_t active = 1;
  constexpr std::int64_t create_and_go = 4;
  if (syntax.form != Form::row_status || value.number != create_and_go) return value;
  return Value::of_number(value.type, active);
}

bool same_time(std::string_view a, std::string_view b) {
  if (no_time(a) && no_time(b)) return true;
  const auto instant = instant_of(a);
  return instant && instant == instant_of(b);
}

bool same_address_text(std::string_view a, std::string_view b) {
  const auto address = parsed_address(a);
  if (address && address == parsed_address(b)) return true;
  return without_trailing(a, '\0') == without_trailing(b, '\0');
}

bool same_octets(Form form, std::string_view a, std::string_view b) {
  if (a == b) return true;
  switch (form) {
    case Form::display_string:
    case Form::bits:
      return without_trailing(a, '\0') == without_trailing(b, '\0');
    case Form::date_time:
    case Form::minute_stamp:
      return same_time(a, b);
    case Form::address_text:
      return same_address_text(a, b);
    default:
      // Hex, MAC, PSID and addresses in octets have one spelling on the wire, a mapped IPv4 address
      // included; case is an affair of their text.
      return false;
  }
}

}  // namespace

bool of_kind(const Syntax& syntax, const Value& value) {
  const Type wire = syntax.wire();
  return value.type == wire || (integer_kind(value.type) && integer_kind(wire));
}

bool agree(const Syntax& syntax, const Value& a, const Value& b) {
  if (a.absent() || b.absent()) return a.absent() && b.absent();
  if (integer_kind(a.type) && integer_kind(b.type)) return same_number(meant(syntax, a), meant(syntax, b));
  if (a.type != b.type) return false;
  if (a.type == Type::null) return true;
  if (a.type == Type::object_id) return a.oid == b.oid;
  return a.type == syntax.wire() ? same_octets(syntax.form, a.octets, b.octets) : a.octets == b.octets;
}

}  // namespace vergeset::smi
