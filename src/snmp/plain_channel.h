#pragma once

#include <map>
#include <memory>
#include <string>

#include "snmp/channel.h"
#include "snmp/message.h"
#include "snmp/principal.h"
#include "snmp/wire.h"

namespace vergeset::snmp {

/// Requests in messages that carry no keys (message.h): by community over datagrams, or by the transport
/// security model over a wire that has seen to the security.
class PlainChannel final : public Channel {
 public:
  PlainChannel(EventLoop& loop, std::unique_ptr<Wire> wire, std::string peer,
               std::shared_ptr<const Principal> principal);

  std::optional<Error> send(Pdu pdu, const ExchangePtr& exchange,
                            std::chrono::microseconds patience) override;

  /// Of SNMPv3: whose objects are asked for (RFC 3411 3.3.1).
  void speak_to(std::string context_engine) { context_engine_ = std::move(context_engine); }

 private:
  struct Try {
    ExchangePtr exchange;
    Sent sent;
    EventLoop::Moment until;
  };
  std::string written(netsnmp_pdu& pdu) const;
  bool is_of_ours(const Message& message) const;
  void hear(std::string_view octets);
  void answer(const Try& attempt, const netsnmp_pdu& pdu);
  void forget_old();
  void refused(const Error& why);
  void closed(const Error& why);

  EventLoop& loop_;
  std::unique_ptr<Wire> wire_;
  std::shared_ptr<const Principal> principal_;
  std::string context_engine_;
  std::int32_t next_id_;
  std::map<std::int64_t, Try> tries_;  ///< by request-id
};

}  // namespace vergeset::snmp
