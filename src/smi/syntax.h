#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "smi/result.h"
#include "smi/value.h"

namespace vergeset::smi {

/// How a value is written by people. Several forms share one wire type: an OCTET STRING may be
/// text, an address, a PSID or a time, and only the object's definition tells which.
enum class Form {
  integer,         ///< Integer32, a number in the object's unit of measure
  enumeration,     ///< INTEGER { off(0), on(1) }: label or number
  bits,            ///< BITS { a(0), b(1) }: labels, bit 0 the high bit of the first octet (RFC 2578 7.1.4)
  row_status,      ///< RFC 2579 RowStatus
  counter,         ///< Counter32
  counter64,       ///< Counter64
  gauge,           ///< Gauge32
  time_ticks,      ///< hundredths of a second
  object_id,       ///< OBJECT IDENTIFIER
  ip_address,      ///< IpAddress, four octets
  display_string,  ///< RFC 2579 DisplayString
  octets,          ///< OCTET STRING, written as hex
  mac,             ///< RFC 2579 MacAddress, written aa:bb:cc:dd:ee:ff
  psid,            ///< IEEE 1609.3 P-encoding on the wire; 0x82, 130 or p8002 to people
  date_time,       ///< RFC 2579 DateAndTime, 8 or 11 octets; ISO 8601 to people
  minute_stamp,    ///< RSU 4.1: the first six octets of DateAndTime, UTC, or none
  time_of_day,     ///< RSU 4.1: three octets hh mm ss; "23:59:00" to people
  address_text,    ///< NTCIP 1218: an IPv4 or IPv6 address as text
  address_octets,  ///< RSU 4.1: 16 octets; an IPv4 address is mapped (RFC 4291 2.5.5.2)
  octet_number,    ///< a number in one octet, 0x40 is 64 (RSU 4.1 rsuWraIpPrefixLength)
};

struct Range {
  std::int64_t low = 0;
  std::int64_t high = 0;
  bool operator==(const Range&) const = default;
};

struct Label {
  std::string name;
  std::int64_t number = 0;
  bool operator==(const Label&) const = default;
};

/// The syntax of an object: its form, and what of it is allowed. `ranges` bounds numbers, or the
/// octets of a string (SIZE); empty allows all that the form allows.
///
/// Written as in the model files, in the notation of RFC 2578 with the names of this list:
///   Integer32 (0..15) | INTEGER { off(0), on(1) } | BITS { a(0), b(1) } | Counter32 | Counter64 |
///   Gauge32 | TimeTicks | OBJECT IDENTIFIER | IpAddress | RowStatus | DisplayString (SIZE(0..32)) |
///   OCTET STRING (SIZE(0|6)) | MacAddress | Psid (SIZE(1..4)) | DateAndTime | MinuteStamp |
///   TimeOfDay | AddressText (SIZE(0..64)) | AddressOctets | OctetNumber (0..128)
struct Syntax {
  Form form = Form::integer;
  std::vector<Range> ranges;
  std::vector<Label> labels;  ///< of an enumeration, of BITS, of RowStatus
  /// What single numbers of an Integer32 say beside their count: 900000001 is "unknown", 18 "MAP". No part
  /// of the notation: `str` leaves them out.
  std::vector<Label> words{};

  static Result<Syntax> parse(std::string_view text);
  std::string str() const;  ///< parse(str()) is this again, without `words`

  Type wire() const;  ///< the type that travels

  bool operator==(const Syntax&) const = default;
};

/// The word for a number of an Integer32, where it has one.
std::optional<std::string> word_of(const Syntax& syntax, std::int64_t number);

/// What a person wrote, as the wire wants it; the problem says what was expected. Checks ranges,
/// sizes and labels. A number may not carry a unit of measure here: see quantity.h.
Result<Value> encode(const Syntax& syntax, std::string_view text);

/// A value in words, one line: a label for an enumeration, `0x82` for a PSID, ISO 8601 for a time,
/// hex for octets (whole, however long). Never fails: what the syntax cannot explain is shown as
/// hex or number, with its type where that is not the object's. An absent value is "none".
std::string to_text(const Syntax& syntax, const Value& value);

/// Whether two values mean the same, whatever their spelling: addresses by address, times by
/// instant, text without its trailing NULs, MAC and hex in either case, BITS without trailing zero
/// octets, RowStatus createAndGo as active (units are known to show it; common practice, no source),
/// integers over any integer type.
bool agree(const Syntax& syntax, const Value& a, const Value& b);

/// What of the syntax the value breaks ("200 is above 100, the most that Integer32 (0..100) allows"),
/// or nothing. `encode` has asked already; this is for values that came over the wire.
std::optional<std::string> violation(const Syntax& syntax, const Value& value);

/// P-encoding of a PSID (IEEE 1609.3): 0..0x1020407f in one to four octets.
Result<std::string> p_encode(std::uint32_t psid);
Result<std::uint32_t> p_decode(std::string_view octets);

/// An instant from a DateAndTime of 8 or 11 octets or a minute stamp of 6, in deci-seconds since
/// 1970-01-01T00:00Z. Eight and six octets count as UTC, as both RSU standards want. Nothing where
/// the octets are no time: empty, or all zero.
std::optional<std::int64_t> instant_of(std::string_view octets);

}  // namespace vergeset::smi
