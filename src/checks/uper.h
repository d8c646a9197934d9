#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

/// The unaligned packed encoding rules of ASN.1 (ITU-T X.691, UPER), read: no field names and no tags,
/// so that whoever reads must know the grammar. Everything is checked against the octets that are there
/// and against the bounds of its type. After the first fault every read gives the least value there is
/// and lists are empty, so that a reader needs no test after each field and every loop ends.
namespace vergeset::j2735 {

/// What X.691 19 puts before the fields of a SEQUENCE.
struct Preamble {
  bool extended = false;      ///< additions stand behind the fields
  std::uint32_t present = 0;  ///< one bit an optional field, the last lowest
  int optional = 0;

  /// Whether the optional field, counted from 0, is there.
  bool has(int field) const { return ((present >> (optional - 1 - field)) & 1U) != 0; }
};

class Uper {
 public:
  enum class Fault {
    none,
    ended,         ///< the octets end before the value does
    out_of_bounds  ///< a number that its type does not have
  };

  explicit Uper(std::string_view octets) : octets_(octets), end_(octets.size() * 8) {}

  bool ok() const { return fault_ == Fault::none; }
  Fault fault() const { return fault_; }
  /// Where it went wrong, innermost field last: "intersection 1, lane 4, node 2: offset".
  const std::string& where() const { return where_; }
  /// Names what the fault lies in; nothing where there is none.
  void within(const std::string& part);

  std::size_t bits_left() const { return end_ - at_; }
  /// Whether the bits left, fewer than eight, are the zeros that fill the last octet (X.691 11.1).
  bool only_padding_left() const;

  bool flag(const char* field);
  /// At most 64 bits, the highest first.
  std::uint64_t raw(const char* field, int count);
  /// A whole number of low..high (X.691 11.5).
  std::int64_t number(const char* field, std::int64_t low, std::int64_t high);
  /// How many items a list of SIZE (low..high) has; 0 after a fault.
  std::size_t items(const char* field, std::int64_t low, std::int64_t high);
  /// IA5String (SIZE (low..high)), 7 bits a character (X.691 30).
  std::string ia5(const char* field, std::int64_t low, std::int64_t high);
  /// OCTET STRING (SIZE (count)).
  std::string octets(const char* field, std::size_t count);

  /// The start of a SEQUENCE with so many OPTIONAL or DEFAULT fields.
  Preamble sequence(const char* field, int optional, bool extensible);
  /// The end of it: additions of later versions of the grammar are passed over (X.691 19.7 to 19.9).
  void end_sequence(const Preamble& preamble);

  /// ENUMERATED of so many values (X.691 14); nothing for one that a later version added.
  std::optional<unsigned> enumerated(const char* field, unsigned values, bool extensible);
  /// CHOICE among so many (X.691 23); one that a later version added is passed over, and nothing.
  std::optional<unsigned> choice(const char* field, unsigned alternatives, bool extensible);

  /// BIT STRING (SIZE (count, ...)): the first `count` bits; beyond them what a later version added is
  /// passed over (X.691 16.6).
  std::uint64_t extensible_bits(const char* field, int count);

  /// Passes over an open type (X.691 11.2): a length in octets, then so many, in pieces where they are many.
  void skip_open_type(const char* field);

  /// X.691 11.9: a number of octets (or bits, items); `more` says that another piece with a length of its
  /// own follows.
  struct Length {
    std::size_t count = 0;
    bool more = false;
  };
  Length length(const char* field);

 private:
  /// X.691 11.6.
  std::uint64_t small_number(const char* field);
  void skip_bits(const char* field, std::size_t count);
  void fail(Fault fault, const char* field);

  std::string_view octets_;
  std::size_t at_ = 0;  ///< in bits
  std::size_t end_ = 0;
  Fault fault_ = Fault::none;
  std::string where_;
};

}  // namespace vergeset::j2735
