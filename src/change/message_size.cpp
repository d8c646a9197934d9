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

}  // namespace

std::size_t varbind_octets(const smi::Oid& oid, const smi::Value& value) {
  constexpr std::size_t any_number = 5;
  std::size_t content = 0;
  switch (value.type) {
    case smi::Type::octet_string:
    case smi::Type::opaque:
    case smi::Type::ip_address:
      content = value.octets.size();
      break;
    case smi::Type::object_id:
      content = oid_octets(value.oid);
      break;
    case smi::Type::null:
      content = 0;
      break;
    default:
      content = any_number;
      break;
  }
  return wrapped(wrapped(oid_octets(oid)) + wrapped(content));
}

}  // namespace vergeset::change
