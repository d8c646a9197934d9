#include "snmp/message.h"

#include "snmp/ber.h"

namespace vergeset::snmp {

namespace {

using ber::number;
using ber::octet_string;
using ber::Reader;
using ber::sequence;
using ber::tagged;

/// The PDU by itself; empty where it does not fit a message.
std::string pdu_octets(netsnmp_pdu& pdu) {
  std::string text(most_message_octets, '\0');
  std::size_t left = text.size();
  u_char* const begin = reinterpret_cast<u_char*>(text.data());
  const u_char* const end = snmp_pdu_build(&pdu, begin, &left);
  text.resize(end == nullptr ? 0 : static_cast<std::size_t>(end - begin));
  return text;
}

}  // namespace

Pdu read_pdu(std::string_view octets) {
  std::string copy(octets);  // the library reads what it may write to
  Pdu pdu(snmp_pdu_create(0));
  std::size_t left = copy.size();
  if (!pdu || snmp_pdu_parse(pdu.get(), reinterpret_cast<u_char*>(copy.data()), &left) != 0) return {};
  return pdu;
}

std::string community_message(int version, std::string_view community, netsnmp_pdu& pdu) {
  const std::string inside = pdu_octets(pdu);
  if (inside.empty()) return {};
  std::string head = tagged(octet_string, community);
  std::string body = number(version);
  body.reserve(body.size() + head.size() + inside.size());  // growing, it would leave the community behind
  body += head;
  body += inside;
  std::string message = body.size() > most_message_octets ? std::string() : tagged(sequence, body);
  wipe(head);
  wipe(body);
  return message;
}

std::string tsm_message(std::string_view context_engine, netsnmp_pdu& pdu) {
  const std::string inside = pdu_octets(pdu);
  if (inside.empty()) return {};
  constexpr char reportable_private = 0x07;  // RFC 3412 6.4: auth, priv, reportable
  const std::string head = number(pdu.reqid) + number(static_cast<std::int64_t>(most_message_octets)) +
                           tagged(octet_string, {&reportable_private, 1}) + number(tsm_model);
  const std::string scoped = tagged(octet_string, context_engine) + tagged(octet_string, {}) + inside;
  const std::string body =
      number(SNMP_VERSION_3) + tagged(sequence, head) + tagged(octet_string, {}) + tagged(sequence, scoped);
  return body.size() > most_message_octets ? std::string() : tagged(sequence, body);
}

std::optional<Message> read_message(std::string_view octets) {
  Reader whole(octets);
  Reader body(whole.take(sequence));
  Message message;
  message.version = body.take_number();
  if (message.version == SNMP_VERSION_3) {
    Reader head(body.take(sequence));
    message.id = head.take_number();
    head.take_number();  // the largest message that the unit takes
    head.take(octet_string);
    message.security_model = head.take_number();
    body.take(octet_string);
    Reader scoped(body.take(sequence));
    message.context_engine = scoped.take(octet_string);
    scoped.take(octet_string);
    if (whole.bad() || body.bad() || head.bad() || scoped.bad()) return std::nullopt;
    message.pdu = read_pdu(scoped.rest());
  } else {
    message.community = body.take(octet_string);
    if (whole.bad() || body.bad()) return std::nullopt;
    message.pdu = read_pdu(body.rest());
  }
  if (!message.pdu) return std::nullopt;
  return message;
}

}  // namespace vergeset::snmp
