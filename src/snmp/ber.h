#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

/// The little of BER (X.690) that the heads of SNMP messages are made of (RFC 3417 8): definite lengths
/// alone. Writing and reading here, the head of a message can be asked about before anything of the library
/// sees it.
namespace vergeset::snmp::ber {

inline constexpr unsigned char integer = 0x02;
inline constexpr unsigned char octet_string = 0x04;
inline constexpr unsigned char sequence = 0x30;

/// A value with its head (X.690 8.1); `content` has at most 65,535 octets.
std::string tagged(unsigned char tag, std::string_view content);

std::string number(std::int64_t value);

/// How many octets the value has that begins here, its head included; nothing where that is not yet to be
/// seen, 0 where none begins here.
std::optional<std::size_t> value_size(std::string_view octets);

/// Reads values one behind the other. After anything that does not fit, nothing is read any more.
class Reader {
 public:
  explicit Reader(std::string_view octets) : left_(octets) {}

  /// The content of the next value, which must have this tag.
  std::string_view take(unsigned char tag);
  /// The next value, whatever it is, with its head.
  std::string_view take_whole();
  /// Of at most five octets.
  std::int64_t take_number();

  bool bad() const { return bad_; }
  std::string_view rest() const { return left_; }

 private:
  std::string_view left_;
  bool bad_ = false;
};

}  // namespace vergeset::snmp::ber
