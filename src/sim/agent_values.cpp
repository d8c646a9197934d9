#include "sim/agent_values.h"

#include <vector>

namespace vergeset::sim {

using smi::Type;
using smi::Value;

smi::Oid oid_of(const oid* arcs, std::size_t size) {
  return arcs == nullptr ? smi::Oid() : smi::Oid(arcs, size);
}

Value value_of(const netsnmp_variable_list& var) {
  const auto type = static_cast<Type>(var.type);
  switch (type) {
    case Type::integer:
      return Value::integer(*var.val.integer);
    case Type::counter32:
    case Type::gauge32:
    case Type::time_ticks:
      return Value::of_number(type, *var.val.integer & 0xffffffffL);
    case Type::counter64:
      return Value::of_number(type, static_cast<std::int64_t>((var.val.counter64->high << 32U) |
                                                              (var.val.counter64->low & 0xffffffffUL)));
    case Type::octet_string:
    case Type::ip_address:
    case Type::opaque: {
      Value value = Value::of_octets(std::string(reinterpret_cast<const char*>(var.val.string), var.val_len));
      value.type = type;
      return value;
    }
    case Type::object_id:
      return Value::of_oid(oid_of(var.val.objid, var.val_len / sizeof(oid)));
    default:
      return Value::of_number(type, 0);
  }
}

void give_value(netsnmp_variable_list* var, const Value& value) {
  const auto type = static_cast<u_char>(value.type);
  switch (value.type) {
    case Type::octet_string:
    case Type::ip_address:
    case Type::opaque:
      snmp_set_var_typed_value(var, type, value.octets.data(), value.octets.size());
      return;
    case Type::object_id: {
      const std::vector<oid> arcs(value.oid->arcs().begin(), value.oid->arcs().end());
      snmp_set_var_typed_value(var, type, arcs.data(), arcs.size() * sizeof(oid));
      return;
    }
    case Type::counter64: {
      const auto number = static_cast<std::uint64_t>(value.number);
      counter64 wide{};
      wide.high = number >> 32U;
      wide.low = number & 0xffffffffUL;
      snmp_set_var_typed_value(var, type, &wide, sizeof wide);
      return;
    }
    default: {
      const long number = value.number;
      snmp_set_var_typed_value(var, type, &number, sizeof number);
    }
  }
}

std::size_t count_varbinds(const netsnmp_variable_list* first) {
  std::size_t count = 0;
  for (; first != nullptr; first = first->next_variable) ++count;
  return count;
}

}  // namespace vergeset::sim
