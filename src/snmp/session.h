#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "snmp/address.h"
#include "snmp/clock.h"
#include "snmp/event_loop.h"
#include "snmp/library.h"
#include "snmp/pdu.h"
#include "snmp/principal.h"

namespace vergeset::snmp {

/// One request on its way, over all its tries. Whichever try is answered first answers it: an answer
/// that comes after a later try was sent is as good.
struct Exchange {
  Request request;
  bool discovery = false;
  bool in_the_clear = false;  ///< authenticated but not private
  EventLoop::SlotPtr slot = EventLoop::make_slot();
  int generation = 0;             ///< of its tries: a new one starts after the clock was set anew
  std::optional<Answer> answer;   ///< of a discovery: without variable bindings
  std::optional<Clock> clock;     ///< of a discovery
  bool refused_by_clock = false;  ///< notInTimeWindow, authenticated: it was not carried out
  bool unknown_engine = false;    ///< the unit says that the engine id is not its own: not carried out
  bool given_up = false;          ///< nobody waits any more
  int sent = 0;                   ///< tries
  int answered_try = 0;           ///< from 1
  bool late = false;              ///< the answer is to a try before the last one
  std::chrono::microseconds round_trip{0};  ///< of the try that was answered
  std::optional<Error> garbled;             ///< an answer came that the library could not take
};
using ExchangePtr = std::shared_ptr<Exchange>;

/// One session of net-snmp's with its socket, connected to one unit: so that the system tells when
/// the unit's port is closed, and answers of others are not even read.
///
/// The library's lists of users and engines are searched one by one and only grow. So each session
/// owns its user and its clock and shows them to the library only during a call: the lists never hold
/// more than one.
class Session {
 public:
  /// Where no socket could be made, failure() says why and nothing else may be called.
  Session(EventLoop& loop, const Address& address);
  ~Session();
  Session(const Session&) = delete;
  Session& operator=(const Session&) = delete;

  const std::optional<Error>& failure() const { return failure_; }

  /// Sends one try. Answers within `patience` count. Where nothing could be sent, says why.
  std::optional<Error> send(Pdu pdu, const ExchangePtr& exchange, std::chrono::microseconds patience);

  /// From now on this user speaks to the clock's engine, at its level.
  std::optional<Error> join(const Principal& principal, Clock clock);
  /// Of the engine that was joined.
  const std::optional<Clock>& clock() const { return clock_; }
  /// Answers that came after their request had been answered or given up.
  std::uint64_t too_late() const { return too_late_; }

  const std::string& peer() const { return peer_; }

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
  void timed(const Try& attempt);
  bool take_report(const Try& attempt, const netsnmp_pdu& pdu);
  void readable();
  void refused();

  EventLoop& loop_;
  std::string peer_;
  void* handle_ = nullptr;
  int socket_ = -1;
  User user_;
  std::optional<Clock> clock_;
  std::uint64_t too_late_ = 0;
  std::string heard_;                        ///< the engine id in the message that was read last
  std::optional<Error> failure_;             ///< of open(), so behind what open() sets
  std::vector<std::unique_ptr<Try>> tries_;  ///< sent, and neither answered nor out of patience
};

}  // namespace vergeset::snmp
