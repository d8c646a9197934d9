#include "snmp/channel.h"

namespace vergeset::snmp {

void Channel::timed(Exchange& exchange, const Sent& sent) {
  exchange.answered_try = sent.number;
  exchange.late = sent.number < exchange.sent;
  exchange.round_trip =
      std::chrono::ceil<std::chrono::microseconds>(std::chrono::steady_clock::now() - sent.at);
}

}  // namespace vergeset::snmp
