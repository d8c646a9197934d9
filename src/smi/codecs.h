#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "smi/syntax.h"

/// The codecs of the single forms, between words and octets. encode.cpp, to_text.cpp, agree.cpp and
/// violation.cpp choose among them; sizes and ranges are checked there.
namespace vergeset::smi {

// PSID
Result<std::string> psid_octets(std::string_view word);
/// "0x82"; "pff" where the octets are no PSID, a spelling that encode refuses.
std::string psid_text(std::string_view octets);

// Times
/// Eight octets where the zone is Z, eleven where it is an offset (RFC 2579, DateAndTime).
Result<std::string> date_time_octets(std::string_view word);
/// The first six octets of the time in UTC; seconds must be zero (RSU 4.1 rsuSRMDeliveryStart).
Result<std::string> minute_stamp_octets(std::string_view word);
Result<std::string> time_of_day_octets(std::string_view word);
/// Eight octets of the same instant for an object that takes no eleven, and the other way round.
std::optional<std::string> other_length(std::string_view date_time);
/// Nothing where the octets are no time.
std::optional<std::string> date_time_text(std::string_view octets);
std::optional<std::string> time_of_day_text(std::string_view octets);
/// Empty, or 6, 8 or 11 octets of zero: what units hold where no time was ever set.
bool no_time(std::string_view octets);

// Addresses: text in the canonical spelling of RFC 5952
Result<std::string> address_text_octets(std::string_view word);
/// 16 octets, an IPv4 address mapped (RFC 4291 2.5.5.2).
Result<std::string> address_octets_of(std::string_view word);
Result<std::string> ipv4_octets(std::string_view word);
/// The 16 octets of an address text, nothing where it is none; trailing NULs are overlooked.
std::optional<std::string> parsed_address(std::string_view text);
/// The text in canonical spelling, nothing where it is no address.
std::optional<std::string> canonical_address(std::string_view text);
/// 16 octets in words, a mapped IPv4 address as IPv4; nothing for octets of another number.
std::optional<std::string> address_octets_text(std::string_view octets);
std::optional<std::string> ipv4_text(std::string_view octets);
Result<std::string> mac_octets(std::string_view word);
std::string mac_text(std::string_view octets);

// Labels
Result<std::int64_t> labelled_number(const Syntax& syntax, std::string_view word);
std::optional<std::string> label_of(const Syntax& syntax, std::int64_t number);
/// The number of a word of an Integer32 (Syntax::words), in either case; nothing where it is none.
std::optional<std::int64_t> number_of_word(const Syntax& syntax, std::string_view word);
Result<std::string> bits_octets(const Syntax& syntax, std::string_view words);
std::string bits_text(const Syntax& syntax, std::string_view octets);
/// The lowest bit that is set and has no label.
std::optional<std::int64_t> undefined_bit(const Syntax& syntax, std::string_view octets);

/// Octets without the trailing ones that equal `last`.
std::string_view without_trailing(std::string_view octets, char last);

/// Hex with or without 0x.
Result<std::string> hex_octets(std::string_view word);

/// What makes octets no NVT ASCII (RFC 2579, DisplayString), or nothing.
std::optional<std::string> nvt_fault(std::string_view octets);

}  // namespace vergeset::smi
