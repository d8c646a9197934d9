#include "smi/value.h"

#include <fmt/format.h>

#include <array>
#include <limits>
#include <utility>
#include <vector>

#include "smi/numbers.h"
#include "smi/suggest.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

constexpr std::array<std::pair<Type, std::string_view>, 13> names{{
    {Type::integer, "Integer32"},
    {Type::octet_string, "OCTET STRING"},
    {Type::null, "NULL"},
    {Type::object_id, "OBJECT IDENTIFIER"},
    {Type::ip_address, "IpAddress"},
    {Type::counter32, "Counter32"},
    {Type::gauge32, "Gauge32"},
    {Type::time_ticks, "TimeTicks"},
    {Type::opaque, "Opaque"},
    {Type::counter64, "Counter64"},
    {Type::no_such_object, "noSuchObject"},
    {Type::no_such_instance, "noSuchInstance"},
    {Type::end_of_mib_view, "endOfMibView"},
}};

Result<Value> number_from(Type type, std::string_view text) {
  const Problem wrong{fmt::format("expected a number of type {}, found {}", type_name(type), shown(text))};
  if (type == Type::counter64) {
    const auto number = unsigned_number(text);
    if (!number) return wrong;
    return Value::of_number(type, static_cast<std::int64_t>(*number));
  }
  const auto number = whole_number(text);
  if (!number || !fits(type, *number)) return wrong;
  return Value::of_number(type, *number);
}

}  // namespace

std::string_view type_name(Type type) {
  for (const auto& [known, name] : names)
    if (known == type) return name;
  return "unknown type";
}

Result<Type> type_named(std::string_view name) {
  std::vector<std::string> known;
  for (const auto& [type, its_name] : names) {
    if (its_name == name) return type;
    known.emplace_back(its_name);
  }
  return Problem{fmt::format("expected an SNMP type, found {}{}", shown(name), suggestion(name, known))};
}

bool integer_kind(Type type) {
  switch (type) {
    case Type::integer:
    case Type::counter32:
    case Type::gauge32:
    case Type::time_ticks:
    case Type::counter64:
      return true;
    default:
      return false;
  }
}

bool fits(Type type, std::int64_t number) {
  if (type == Type::counter64) return true;
  if (type == Type::integer)
    return number >= std::numeric_limits<std::int32_t>::min() &&
           number <= std::numeric_limits<std::int32_t>::max();
  return number >= 0 && number <= std::numeric_limits<std::uint32_t>::max();
}

std::string number_text(const Value& value) {
  if (value.type == Type::counter64) return std::to_string(static_cast<std::uint64_t>(value.number));
  return std::to_string(value.number);
}

bool same_number(const Value& a, const Value& b) {
  const auto above_int64 = [](const Value& value) {
    return value.type == Type::counter64 && value.number < 0;
  };
  return a.number == b.number && above_int64(a) == above_int64(b);
}

std::string exact_text(const Value& value) {
  if (integer_kind(value.type)) return number_text(value);
  switch (value.type) {
    case Type::octet_string:
    case Type::ip_address:
    case Type::opaque:
      return to_hex(value.octets);
    case Type::object_id:
      return value.oid->str();
    default:
      return {};
  }
}

Result<Value> from_exact_text(Type type, std::string_view text) {
  if (integer_kind(type)) return number_from(type, text);
  switch (type) {
    case Type::octet_string:
    case Type::ip_address:
    case Type::opaque: {
      auto octets = from_hex(text);
      if (!octets) return Problem{octets.problem()};
      return Value{type, 0, *std::move(octets), {}};
    }
    case Type::object_id: {
      if (text.empty()) return Value::of_oid(Oid());
      auto oid = Oid::parse(text);
      if (!oid) return Problem{oid.problem()};
      return Value::of_oid(*std::move(oid));
    }
    default:
      if (text.empty()) return Value::of_number(type, 0);
      return Problem{fmt::format("expected nothing beside {}, found {}", type_name(type), shown(text))};
  }
}

}  // namespace vergeset::smi
