#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "snmp/principal.h"

/// Messages of SNMPv3 with the user-based security model (RFC 3412 6, RFC 3414 2.4), read and written here
/// and not by the library: its tables of users and engines are of the process and only grow, and whoever
/// receives has to look at what a stranger sent before any key is at hand. The hashes and ciphers are the
/// library's.
namespace vergeset::snmp {

struct UsmMessage {
  std::int64_t id = 0;
  int level = 0;            ///< SNMP_SEC_LEVEL_*
  bool reportable = false;  ///< its sender wants a Report where it cannot be taken (RFC 3412 6.4)
  std::string_view engine_id{};
  std::uint32_t boots = 0;
  std::uint32_t time = 0;
  std::string_view user{};
  std::string_view digest{};  ///< msgAuthenticationParameters
  std::string_view salt{};    ///< msgPrivacyParameters
  std::string_view
      data{};  ///< with privacy the octets of encryptedPDU, otherwise the scoped PDU with its head
  std::string_view whole{};
};

/// Views into the octets; nothing where they are no such message: another version or security model, privacy
/// without authentication (RFC 3412 7.2), a number or a name out of its range.
std::optional<UsmMessage> read_usm_message(std::string_view octets);

/// The version that a message says (RFC 3412 6): 0, 1 or 3; nothing where the octets are no message.
std::optional<std::int64_t> version_of(std::string_view octets);

struct ScopedPdu {
  std::string_view context_engine;
  std::string_view whole;  ///< with its head, without what a cipher has padded it with
  std::string_view pdu;    ///< with its head
};
std::optional<ScopedPdu> read_scoped_pdu(std::string_view octets);

/// A user's keys at one engine (RFC 3414 2.6). Made for a message and wiped with it: localizing costs a few
/// microseconds, and of ten thousand units none is then kept.
struct UsmKeys {
  int level = 0;
  int auth = 0;
  int privacy = 0;
  Key auth_key;
  Key privacy_key;
};
/// False where the principal has none there: it is no user, or its keys are localized to another engine.
bool localize(const Principal& principal, std::string_view engine_id, UsmKeys& keys);

/// Whether the digest is the one that the key gives (RFC 3414 6.3.2, RFC 7860 4.2.2).
bool is_authentic(const UsmMessage& message, const UsmKeys& keys);

/// What was encrypted (RFC 3414 8.3.2, RFC 3826 3.3.2), with its padding; nothing where the cipher has no use
/// for it. Another key gives octets without sense.
std::optional<std::string> decrypted(const UsmMessage& message, const UsmKeys& keys);

/// A message at this level from an authoritative engine. Empty where it is too large.
struct UsmHead {
  std::int64_t id = 0;
  int level = 0;
  std::string_view engine_id;
  std::uint32_t boots = 0;
  std::uint32_t time = 0;
  std::string_view user;
  bool reportable = false;
};
std::string write_usm_message(const UsmHead& head, const UsmKeys& keys, std::string_view scoped_pdu);

/// A scoped PDU with an empty context name.
std::string scoped_pdu(std::string_view context_engine, std::string_view pdu);

}  // namespace vergeset::snmp
