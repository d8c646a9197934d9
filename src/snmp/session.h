#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "snmp/address.h"
#include "snmp/channel.h"
#include "snmp/library.h"
#include "snmp/principal.h"

namespace vergeset::snmp {

/// One session of net-snmp's with its socket, connected to one unit: so that the system tells when
/// the unit's port is closed, and answers of others are not even read.
///
/// The library's lists of users and engines are searched one by one and only grow. So each session
/// owns its user and its clock and shows them to the library only during a call: the lists never hold
/// more than one.
class Session final : public Channel {
 public:
  /// Where no socket could be made, failure() says why and nothing else may be called.
  Session(EventLoop& loop, const Address& address);
  ~Session() override;

  const std::optional<Error>& failure() const { return failure_; }

  std::optional<Error> send(Pdu pdu, const ExchangePtr& exchange,
                            std::chrono::microseconds patience) override;

  /// From now on this user speaks to the clock's engine, at its level.
  std::optional<Error> join(const Principal& principal, Clock clock);
  /// Of the engine that was joined.
  const std::optional<Clock>& clock() const { return clock_; }

 private:
  struct FreeUser {
    void operator()(usmUser* user) const { usm_free_user(user); }
  };
  using User = std::unique_ptr<usmUser, FreeUser>;
  class Turn;
  struct Try;

  std::optional<Error> open(const Address& address);
  static int on_event(int operation, netsnmp_session*, int, netsnmp_pdu* pdu, void* attempt);
  static int on_parsed(netsnmp_session* library_session, netsnmp_pdu* pdu, int result);
  static User make_user(const Principal& principal, const std::string& engine_id);
  bool take(const Try& attempt, const netsnmp_pdu& pdu);
  bool take_report(const Try& attempt, const netsnmp_pdu& pdu);
  void readable();
  void refused();

  EventLoop& loop_;
  void* handle_ = nullptr;
  int socket_ = -1;
  User user_;
  std::optional<Clock> clock_;
  std::string heard_;                        ///< the engine id in the message that was read last
  std::optional<Error> failure_;             ///< of open(), so behind what open() sets
  std::vector<std::unique_ptr<Try>> tries_;  ///< sent, and neither answered nor out of patience
};

}  // namespace vergeset::snmp
