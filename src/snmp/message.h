#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "smi/secret.h"
#include "snmp/ber.h"
#include "snmp/pdu.h"

namespace vergeset::snmp {

/// Messages that need no keys: those of SNMPv1 (RFC 1157 4), SNMPv2c (RFC 1901 3) and of SNMPv3 with the
/// transport security model (RFC 3412 6, RFC 5591), whose security is the transport's. They are written and
/// read here, so that nothing of them is in the library's tables; the PDU inside is the library's.

/// `version` is that of the message: 0 for SNMPv1, 1 for SNMPv2c. Holds the community.
std::string community_message(int version, std::string_view community, netsnmp_pdu& pdu);

/// Its msgID is the request-id of the PDU.
std::string tsm_message(std::string_view context_engine, netsnmp_pdu& pdu);

struct Message {
  std::int64_t version = 0;
  std::string_view community;         ///< of SNMPv1 and SNMPv2c
  std::int64_t security_model = 0;    ///< of SNMPv3 (RFC 3411 5)
  std::int64_t id = 0;                ///< of SNMPv3
  std::string_view context_engine{};  ///< of SNMPv3
  Pdu pdu;
};

/// Nothing where the octets are none. Views into them.
std::optional<Message> read_message(std::string_view octets);

/// The PDU that stands there by itself; nothing where the octets are none.
Pdu read_pdu(std::string_view octets);

/// How many octets the message has that begins here; nothing where that is not yet to be seen, 0 where none
/// begins here.
inline std::optional<std::size_t> message_size(std::string_view octets) {
  return ber::value_size(octets);
}

inline constexpr std::size_t most_message_octets = 65535;
inline constexpr std::int64_t tsm_model = 4;  ///< RFC 5591 7

/// What stands at the beginning of a stream in which messages stand one behind the other (RFC 3430 2.1).
enum class InStream { whole, part, none };
/// Takes the first message out of it where it is whole. `none`: what is there is no message, or one of more
/// than `most` octets.
InStream take_message(std::string& stream, std::string& message, std::size_t most);

/// The head of a message with the transport security model (RFC 5591 4.1), before anything in it is read.
struct TsmMessage {
  std::int64_t id = 0;
  int level_flags = 0;          ///< auth and priv of msgFlags (RFC 3412 6.4)
  std::string_view scoped_pdu;  ///< with its head
};
/// Nothing where it is none, or where its security parameters are not empty (RFC 5591 5.2 1).
std::optional<TsmMessage> read_tsm_message(std::string_view octets);

/// The message that answers one, at its level (RFC 3412 7.1.2). Empty where it is too large.
std::string answer_tsm_message(const TsmMessage& asked, std::string_view scoped_pdu);

}  // namespace vergeset::snmp
