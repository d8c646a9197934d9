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

constexpr char private_flags = 0x03;  // RFC 3412 6.4: auth, priv
constexpr char privacy_alone = 0x02;
constexpr char reportable_flag = 0x04;
constexpr std::int64_t least_message_octets = 484;  // RFC 3412 6.2

std::string tsm_octets(std::int64_t id, int flags, std::string_view scoped_pdu) {
  const char octet = static_cast<char>(flags);
  const std::string head = number(id) + number(static_cast<std::int64_t>(most_message_octets)) +
                           tagged(octet_string, {&octet, 1}) + number(tsm_model);
  std::string body = number(SNMP_VERSION_3) + tagged(sequence, head) + tagged(octet_string, {});
  body += scoped_pdu;
  return body.size() > most_message_octets ? std::string() : tagged(sequence, body);
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
  const std::string scoped = tagged(octet_string, context_engine) + tagged(octet_string, {}) + inside;
  return scoped.size() > most_message_octets
             ? std::string()
             : tsm_octets(pdu.reqid, private_flags | reportable_flag, tagged(sequence, scoped));
}

std::string answer_tsm_message(const TsmMessage& asked, std::string_view scoped_pdu) {
  return tsm_octets(asked.id, asked.level_flags, scoped_pdu);
}

std::optional<TsmMessage> read_tsm_message(std::string_view octets) {
  Reader whole(octets);
  Reader body(whole.take(sequence));
  const std::int64_t version = body.take_number();
  Reader head(body.take(sequence));
  TsmMessage message;
  message.id = head.take_number();
  const std::int64_t most = head.take_number();
  const std::string_view flags = head.take(octet_string);
  const std::int64_t model = head.take_number();
  const std::string_view parameters = body.take(octet_string);
  message.scoped_pdu = body.rest();
  const bool bad = whole.bad() || body.bad() || head.bad() || !whole.rest().empty() || !head.rest().empty();
  if (bad || version != SNMP_VERSION_3 || model != tsm_model || !parameters.empty()) return std::nullopt;
  if (flags.size() != 1 || message.id < 0 || most < least_message_octets) return std::nullopt;
  message.level_flags = flags.front() & private_flags;
  if (message.level_flags == privacy_alone) return std::nullopt;  // RFC 3412 7.2 5
  return message;
}

InStream take_message(std::string& stream, std::string& message, std::size_t most) {
  if (stream.empty()) return InStream::part;
  const auto size = message_size(stream);
  const bool begins = static_cast<unsigned char>(stream.front()) == sequence;
  if (!begins || (size && (*size == 0 || *size > most))) return InStream::none;
  if (!size || *size > stream.size()) return InStream::part;
  message = stream.substr(0, *size);
  stream.erase(0, *size);
  return InStream::whole;
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
