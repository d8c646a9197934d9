#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "smi/oid.h"
#include "smi/result.h"

namespace vergeset::smi {

/// The ASN.1 tag of a value as it travels (RFC 3416 section 3, RFC 2578 section 7.1).
enum class Type : std::uint8_t {
  integer = 0x02,
  octet_string = 0x04,
  null = 0x05,
  object_id = 0x06,
  ip_address = 0x40,
  counter32 = 0x41,
  gauge32 = 0x42,
  time_ticks = 0x43,
  opaque = 0x44,
  counter64 = 0x46,
  no_such_object = 0x80,
  no_such_instance = 0x81,
  end_of_mib_view = 0x82,
};

/// What most values are without, held so that these give it the room of a pointer only. Copied as a value.
template <class T>
class Rare {
 public:
  Rare() = default;
  Rare(T held) : held_(std::make_unique<T>(std::move(held))) {}
  Rare(const Rare& other) : held_(other.held_ ? std::make_unique<T>(*other.held_) : nullptr) {}
  Rare(Rare&&) noexcept = default;
  Rare& operator=(const Rare& other) {
    if (this != &other) *this = Rare(other);
    return *this;
  }
  Rare& operator=(Rare&&) noexcept = default;
  ~Rare() = default;

  /// An empty T where there is none.
  const T& operator*() const {
    static const T none{};
    return held_ ? *held_ : none;
  }
  const T* operator->() const { return &**this; }
  bool operator==(const Rare& other) const { return **this == *other; }

 private:
  std::unique_ptr<T> held_;
};

/// A value exactly as an agent gave it or will be given it. What it means is the Syntax's affair:
/// two values that differ here may agree there.
struct Value {
  Type type = Type::null;
  std::int64_t number = 0;  ///< integer, counters, gauge, ticks (counter64 as its bit pattern)
  std::string octets;       ///< octet string, IpAddress, opaque
  Rare<Oid> oid;            ///< object identifier

  static Value integer(std::int64_t number) { return {Type::integer, number, {}, {}}; }
  static Value of_number(Type type, std::int64_t number) { return {type, number, {}, {}}; }
  static Value of_octets(std::string octets) { return {Type::octet_string, 0, std::move(octets), {}}; }
  static Value of_oid(Oid oid) { return {Type::object_id, 0, {}, std::move(oid)}; }

  /// noSuchObject, noSuchInstance or endOfMibView: the agent has nothing there (RFC 3416 4.2.1).
  bool absent() const { return static_cast<std::uint8_t>(type) >= 0x80; }

  bool operator==(const Value&) const = default;
};

/// "Integer32", "OCTET STRING", ... and back; for records, where the exact type is kept.
std::string_view type_name(Type type);
Result<Type> type_named(std::string_view name);

/// A value as exact text for records, and back: numbers in decimal, octets as lower-case hex,
/// object identifiers dotted, nothing for null and the three exceptions.
std::string exact_text(const Value& value);
Result<Value> from_exact_text(Type type, std::string_view text);

/// "0a1b" and back. Reading takes either case, and blanks, colons and dashes between octets.
std::string to_hex(std::string_view octets);
Result<std::string> from_hex(std::string_view text);

}  // namespace vergeset::smi
