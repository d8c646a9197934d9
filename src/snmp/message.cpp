#include "snmp/message.h"

#include <array>

namespace vergeset::snmp {

namespace {

constexpr unsigned char sequence = 0x30;
constexpr unsigned char integer = 0x02;
constexpr unsigned char octet_string = 0x04;

/// A value of BER with its head (X.690 8.1).
std::string tagged(unsigned char tag, std::string_view content) {
  std::string text(1, static_cast<char>(tag));
  const std::size_t size = content.size();
  if (size >= 128) {
    const bool one = size < 256;
    text += static_cast<char>(one ? 0x81 : 0x82);
    if (!one) text += static_cast<char>(size >> 8U);
  }
  text += static_cast<char>(size & 0xffU);
  text += content;
  return text;
}

std::string number(std::int64_t value) {
  std::string content;
  int octets = 1;
  while (octets < 8 && value >> (8 * octets - 1) != 0 && value >> (8 * octets - 1) != -1) ++octets;
  for (int i = octets - 1; i >= 0; --i) content += static_cast<char>((value >> (8 * i)) & 0xff);
  return tagged(integer, content);
}

/// The PDU by itself; empty where it does not fit a message.
std::string pdu_octets(netsnmp_pdu& pdu) {
  std::string text(most_message_octets, '\0');
  std::size_t left = text.size();
  u_char* const begin = reinterpret_cast<u_char*>(text.data());
  const u_char* const end = snmp_pdu_build(&pdu, begin, &left);
  text.resize(end == nullptr ? 0 : static_cast<std::size_t>(end - begin));
  return text;
}

/// Reads values of BER one behind the other. After anything that does not fit, nothing is read any more.
class Reader {
 public:
  explicit Reader(std::string_view octets) : left_(octets) {}

  std::string_view take(unsigned char tag) {
    const auto size = message_size(left_);
    if (bad_ || size.value_or(0) == 0 || left_.empty() || static_cast<unsigned char>(left_.front()) != tag ||
        *size > left_.size()) {
      bad_ = true;
      return {};
    }
    const std::size_t head = head_size(left_);
    const std::string_view content = left_.substr(head, *size - head);
    left_.remove_prefix(*size);
    return content;
  }

  std::int64_t take_number() {
    const std::string_view content = take(integer);
    if (content.empty() || content.size() > 5) {
      bad_ = true;
      return 0;
    }
    // Two's complement (X.690 8.3).
    std::int64_t value = (static_cast<unsigned char>(content.front()) & 0x80U) != 0 ? -1 : 0;
    for (const char octet : content) value = value * 256 + static_cast<unsigned char>(octet);
    return value;
  }

  bool bad() const { return bad_; }
  std::string_view rest() const { return left_; }

  static std::size_t head_size(std::string_view octets) {
    const auto first = static_cast<unsigned char>(octets[1]);
    return first < 128 ? 2 : 2U + (first & 0x7fU);
  }

 private:
  std::string_view left_;
  bool bad_ = false;
};

Pdu read_pdu(std::string_view octets) {
  std::string copy(octets);  // the library reads what it may write to
  Pdu pdu(snmp_pdu_create(0));
  std::size_t left = copy.size();
  if (!pdu || snmp_pdu_parse(pdu.get(), reinterpret_cast<u_char*>(copy.data()), &left) != 0) return {};
  return pdu;
}

}  // namespace

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

std::optional<std::size_t> message_size(std::string_view octets) {
  if (octets.size() < 2) return std::nullopt;
  const auto first = static_cast<unsigned char>(octets[1]);
  if (first < 128) return 2U + first;
  const std::size_t more = first & 0x7fU;
  if (more < 1 || more > 4) return 0;
  if (octets.size() < 2 + more) return std::nullopt;
  std::size_t size = 0;
  for (std::size_t i = 0; i < more; ++i) size = size * 256 + static_cast<unsigned char>(octets[2 + i]);
  return 2 + more + size;
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
