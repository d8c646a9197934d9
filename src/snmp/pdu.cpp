#include "snmp/pdu.h"

#include <algorithm>
#include <array>
#include <cstring>
#include <limits>
#include <string>

#include "snmp/failure.h"

namespace vergeset::snmp {

namespace {

using smi::Type;
using smi::Value;

/// Arcs as the library holds them: a machine word each.
struct Wide {
  explicit Wide(const smi::Oid& id) { std::copy(id.arcs().begin(), id.arcs().end(), arcs.begin()); }
  std::array<oid, MAX_OID_LEN> arcs;
};

bool sendable(const smi::Oid& id) {
  return id.size() >= 2 && id.size() <= MAX_OID_LEN;
}

bool add(netsnmp_pdu& pdu, const smi::Oid& name, Type type, const void* value, std::size_t size) {
  const Wide wide(name);
  return snmp_pdu_add_variable(&pdu, wide.arcs.data(), name.size(), static_cast<u_char>(type), value, size) !=
         nullptr;
}

template <class Number>
bool add_number(netsnmp_pdu& pdu, const VarBind& varbind) {
  const std::int64_t number = varbind.value.number;
  if (number < std::numeric_limits<Number>::min() || number > std::numeric_limits<Number>::max())
    return false;
  const auto narrow = static_cast<Number>(number);
  return add(pdu, varbind.oid, varbind.value.type, &narrow, sizeof narrow);
}

bool add_counter64(netsnmp_pdu& pdu, const VarBind& varbind) {
  const auto bits = static_cast<std::uint64_t>(varbind.value.number);
  const counter64 halves = {static_cast<u_long>(bits >> 32), static_cast<u_long>(bits & 0xffffffff)};
  return add(pdu, varbind.oid, varbind.value.type, &halves, sizeof halves);
}

bool add_varbind(netsnmp_pdu& pdu, const VarBind& varbind) {
  if (!sendable(varbind.oid)) return false;
  const Value& value = varbind.value;
  switch (value.type) {
    case Type::integer:
      return add_number<std::int32_t>(pdu, varbind);
    case Type::counter32:
    case Type::gauge32:
    case Type::time_ticks:
      return add_number<std::uint32_t>(pdu, varbind);
    case Type::counter64:
      return add_counter64(pdu, varbind);
    case Type::ip_address:
      return value.octets.size() == 4 && add(pdu, varbind.oid, value.type, value.octets.data(), 4);
    case Type::octet_string:
    case Type::opaque:
      return value.octets.size() <= 65535 &&
             add(pdu, varbind.oid, value.type, value.octets.data(), value.octets.size());
    case Type::object_id: {
      if (!sendable(*value.oid)) return false;
      const Wide wide(*value.oid);
      return add(pdu, varbind.oid, value.type, wide.arcs.data(), value.oid->size() * sizeof(oid));
    }
    case Type::null:
      return add(pdu, varbind.oid, value.type, nullptr, 0);
    case Type::no_such_object:
    case Type::no_such_instance:
    case Type::end_of_mib_view:
      return false;
  }
  return false;
}

/// net-snmp takes a number out of the Opaque around it (its agents have such: laLoadFloat). It goes
/// back, so that the octets are those that came.
std::optional<Value> read_opaque_number(const netsnmp_variable_list& variable) {
  constexpr std::size_t head = 2;  // tag and length of the Opaque
  std::array<u_char, 32> message{};
  std::size_t left = message.size();
  const auto build = [&](auto function, const auto* number) {
    return function(message.data(), &left, variable.type, number, sizeof *number) != nullptr;
  };
  bool built = false;
  switch (variable.type) {
    case ASN_OPAQUE_FLOAT:
      built = build(asn_build_float, variable.val.floatVal);
      break;
    case ASN_OPAQUE_DOUBLE:
      built = build(asn_build_double, variable.val.doubleVal);
      break;
    case ASN_OPAQUE_COUNTER64:
    case ASN_OPAQUE_U64:
      built = build(asn_build_unsigned_int64, variable.val.counter64);
      break;
    case ASN_OPAQUE_I64:
      built = build(asn_build_signed_int64, variable.val.counter64);
      break;
    default:
      break;
  }
  if (!built) return {};
  return Value{Type::opaque,
               0,
               std::string(message.begin() + head, message.end() - static_cast<std::ptrdiff_t>(left)),
               {}};
}

std::optional<Value> read_value(const netsnmp_variable_list& variable) {
  const auto type = static_cast<Type>(variable.type);
  switch (type) {
    case Type::integer:
      return Value::of_number(type, static_cast<std::int32_t>(*variable.val.integer));
    case Type::counter32:
    case Type::gauge32:
    case Type::time_ticks:
      return Value::of_number(type, static_cast<std::uint32_t>(*variable.val.integer));
    case Type::counter64: {
      const auto high = static_cast<std::uint64_t>(variable.val.counter64->high);
      const auto low = static_cast<std::uint64_t>(variable.val.counter64->low);
      return Value::of_number(type, static_cast<std::int64_t>(high << 32 | low));
    }
    case Type::octet_string:
    case Type::ip_address:
    case Type::opaque: {
      Value value;
      value.type = type;
      value.octets.assign(reinterpret_cast<const char*>(variable.val.string), variable.val_len);
      return value;
    }
    case Type::object_id:
      return Value::of_oid(smi::Oid(variable.val.objid, variable.val_len / sizeof(oid)));
    case Type::null:
    case Type::no_such_object:
    case Type::no_such_instance:
    case Type::end_of_mib_view:
      return Value::of_number(type, 0);
  }
  return read_opaque_number(variable);
}

std::size_t count(const netsnmp_variable_list* variables) {
  std::size_t number = 0;
  for (; variables != nullptr; variables = variables->next_variable) ++number;
  return number;
}

/// The object that an error-index points at (RFC 3416 4.2.5), in text; nothing where it points at none.
std::string pointed_at(const Request& request, std::size_t index) {
  if (index == 0) return {};
  if (index > request.varbinds.size()) return "variable binding " + std::to_string(index);
  return request.varbinds[index - 1].oid.str();
}

/// A response has the names of a GET, and as many as a GETNEXT (RFC 3416 4.2.1, 4.2.2). What answers a
/// SET is not held against it: the SET is done.
bool answers(const Request& request, const std::vector<VarBind>& varbinds) {
  if (request.command != SNMP_MSG_GET && request.command != SNMP_MSG_GETNEXT) return true;
  if (varbinds.size() != request.varbinds.size()) return false;
  for (std::size_t i = 0; request.command == SNMP_MSG_GET && i < varbinds.size(); ++i) {
    if (varbinds[i].oid != request.varbinds[i].oid) return false;
  }
  return true;
}

}  // namespace

std::variant<Pdu, Error> make_pdu(const Request& request) {
  Pdu pdu(snmp_pdu_create(request.command));
  if (!pdu) return Error{Failure::local, 0, 0, "out of memory"};
  if (request.command == SNMP_MSG_GETBULK) {
    pdu->non_repeaters = request.non_repeaters;
    pdu->max_repetitions = std::max(request.repetitions, 1);
  }
  for (std::size_t i = 0; i < request.varbinds.size(); ++i) {
    const VarBind& varbind = request.varbinds[i];
    if (add_varbind(*pdu, varbind)) continue;
    return Error{Failure::local, 0, i + 1,
                 "SNMP cannot carry this value of type " + std::string(smi::type_name(varbind.value.type)) +
                     " for '" + varbind.oid.str() + "'"};
  }
  return pdu;
}

Pdu make_discovery_pdu() {
  Pdu pdu(snmp_pdu_create(SNMP_MSG_GET));
  if (!pdu) return pdu;
  pdu->version = SNMP_VERSION_3;
  pdu->securityName = strdup("");
  pdu->securityNameLen = 0;
  pdu->securityLevel = SNMP_SEC_LEVEL_NOAUTH;
  pdu->securityModel = SNMP_SEC_MODEL_USM;
  return pdu;
}

Answer read_varbinds(const netsnmp_pdu& pdu) {
  std::vector<VarBind> varbinds;
  varbinds.reserve(count(pdu.variables));
  for (const netsnmp_variable_list* variable = pdu.variables; variable != nullptr;
       variable = variable->next_variable) {
    std::optional<Value> value = read_value(*variable);
    smi::Oid name(variable->name, variable->name_length);
    if (!value) {
      return Error{Failure::bad_answer, 0, varbinds.size() + 1,
                   "the unit answered a value of unknown type " + std::to_string(variable->type) + " for " +
                       name.str()};
    }
    varbinds.push_back({std::move(name), std::move(*value)});
  }
  return varbinds;
}

Answer read_response(const Request& request, const netsnmp_pdu& response) {
  if (response.errstat != SNMP_ERR_NOERROR) {
    const auto index = static_cast<std::size_t>(std::max(response.errindex, 0L));
    return status_error(static_cast<int>(response.errstat), index, pointed_at(request, index));
  }
  Answer answer = read_varbinds(response);
  if (answer && !answers(request, answer.varbinds()))
    return Error{Failure::bad_answer, 0, 0, "the unit answered other objects than were asked for"};
  return answer;
}

}  // namespace vergeset::snmp
