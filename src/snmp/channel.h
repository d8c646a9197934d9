#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>

#include "snmp/clock.h"
#include "snmp/event_loop.h"
#include "snmp/pdu.h"

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

/// How the requests of one link get to its unit and the answers back. Each security model has one of its own.
class Channel {
 public:
  virtual ~Channel() = default;
  Channel(const Channel&) = delete;
  Channel& operator=(const Channel&) = delete;

  /// Sends one try. Answers within `patience` count. Where nothing could be sent, says why.
  virtual std::optional<Error> send(Pdu pdu, const ExchangePtr& exchange,
                                    std::chrono::microseconds patience) = 0;

  /// Answers that came after their request had been answered or given up.
  std::uint64_t too_late() const { return too_late_; }
  const std::string& peer() const { return peer_; }

 protected:
  explicit Channel(std::string peer) : peer_(std::move(peer)) {}

  /// Of a try of an exchange: its number, and when it left.
  struct Sent {
    int number = 0;  ///< from 1
    EventLoop::Moment at;
  };
  /// Notes how long the answer to this try took, and whether a later one had been sent.
  static void timed(Exchange& exchange, const Sent& sent);

  std::string peer_;
  std::uint64_t too_late_ = 0;
};

}  // namespace vergeset::snmp
