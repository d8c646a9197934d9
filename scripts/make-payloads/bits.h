#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace vergeset::payloads {

/// Bits of an ASN.1 value in the unaligned packed encoding rules (ITU-T X.691, UPER), as far as the
/// messages here use them. A value out of its bounds is a std::out_of_range that names the field: a
/// message that says something else than was written must not come to be.
class Bits {
 public:
  /// The preamble bits and booleans.
  void flag(bool set);

  /// The `count` low bits of `value`, highest first.
  void raw(std::uint64_t value, int count);

  /// A whole number constrained to low..high (X.691 11.5).
  void number(std::string_view field, std::int64_t value, std::int64_t low, std::int64_t high);

  /// IA5String with SIZE (low..high): a length, then 7 bits a character (X.691 30).
  void ia5(std::string_view field, std::string_view text, std::int64_t low, std::int64_t high);

  /// An enumeration or choice with an extension marker (X.691 14, 23), taken from its root.
  void extensible(std::string_view field, std::int64_t value, std::int64_t high);

  /// The octets, the last filled with zero bits.
  std::string octets() const;

 private:
  std::string octets_;
  int used_ = 8;  ///< bits used of the last octet
};

/// A SAE J2735 MessageFrame: the extension bit and the message id in 15 bits, then the message as an
/// open type behind its length (X.691 11.2, 11.9).
std::string message_frame(int message_id, std::string_view message);

}  // namespace vergeset::payloads
