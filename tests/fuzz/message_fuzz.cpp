// Messages of SNMPv1, SNMPv2c and of the transport security model, which are taken apart here and not by
// net-snmp: what they say, and whether what is written of it reads the same.
//
// About: src/snmp/message.cpp

#include "fuzz/fuzz.h"
#include "snmp/message.h"

using namespace vergeset;

namespace {

bool is_inside(std::string_view part, std::string_view whole) {
  return part.empty() ||
         (part.data() >= whole.data() && part.data() + part.size() <= whole.data() + whole.size());
}

void must_read_the_same(const snmp::Message& message) {
  const bool third = message.version == SNMP_VERSION_3;
  const std::string octets =
      third ? snmp::tsm_message(message.context_engine, *message.pdu)
            : snmp::community_message(static_cast<int>(message.version), message.community, *message.pdu);
  if (octets.empty()) return;  // larger than a message may be
  const auto size = snmp::message_size(octets);
  fuzz::must(size && *size == octets.size(), "a message says how long it is");
  const auto again = snmp::read_message(octets);
  fuzz::must(again.has_value(), "what was written can be read");
  fuzz::must(again->version == message.version && again->community == message.community &&
                 again->context_engine == message.context_engine,
             "what was written reads the same");
  fuzz::must(!third || again->security_model == snmp::tsm_model, "a message tells its security model");
}

}  // namespace

FUZZ_TARGET(message) {
  snmp::start_library();
  static_cast<void>(snmp::message_size(input));
  const auto message = snmp::read_message(input);
  if (!message) return;
  fuzz::must(is_inside(message->community, input), "a community is of the message");
  fuzz::must(is_inside(message->context_engine, input), "an engine is of the message");
  const snmp::Answer answer = snmp::read_response(snmp::Request{}, *message->pdu);
  if (!answer) fuzz::must_explain(answer.error().text);
  if (message->version >= 0 && message->version <= SNMP_VERSION_3) must_read_the_same(*message);
}
