#include "change/message_size.h"

namespace vergeset::change {

namespace {

std::size_t oid_octets(const smi::Oid& oid) {
  std::size_t octets = 0;
  for (std::uint32_t arc : oid.arcs()) {
    do {
      ++octets;
      arc >>= 7;
    } while (arc != 0);
  }
  return octets;
}

/// A tag, a length and that many octets.
std::size_t wrapped(std::size_t octets) {
  return octets + (octets < 128 ? 2 : octets < 256 ? 3 : 4);
}

/// INTEGER and its kin: as few octets as hold the number and its sign.
std::size_t number_octets(const smi::Value& value) {
  const bool is_signed = value.type == smi::Type::integer;
  auto rest = static_cast<std::uint64_t>(is_signed && value.number < 0 ? ~value.number : value.number);
  std::size_t octets = 1;
  while (rest > 0x7f) {
    rest >>= 8;
    ++octets;
  }
  return octets;
}

}  // namespace

std::size_t contents_octets(const smi::Value& value) {
  switch (value.type) {
    case smi::Type::octet_string:
    case smi::Type::opaque:
    case smi::Type::ip_address:
      return value.octets.size();
    case smi::Type::object_id:
      return oid_octets(*value.oid);
    case smi::Type::null:
    case smi::Type::no_such_object:
    case smi::Type::no_such_instance:
    case smi::Type::end_of_mib_view:
      return 0;
    default:
      return number_octets(value);
  }
}

std::size_t varbind_octets(const smi::Oid& oid, const smi::Value& value) {
  return wrapped(wrapped(oid_octets(oid)) + wrapped(contents_octets(value)));
}

std::size_t column_octets(const smi::Oid& column, std::size_t contents) {
  constexpr std::size_t usual_index = 1;
  return wrapped(wrapped(oid_octets(column) + usual_index) + wrapped(contents));
}

}  // namespace vergeset::change
