#pragma once

#include <algorithm>
#include <memory>
#include <optional>
#include <random>
#include <vector>

#include "snmp/event_loop.h"
#include "snmp/losses.h"
#include "snmp/network.h"
#include "snmp/plain_channel.h"
#include "snmp/round_trips.h"
#include "snmp/session.h"
#include "snmp/tls_wire.h"
#include "snmp/window.h"

namespace vergeset::snmp {

/// When to send again and when to give up.
///
/// A read has as many tries as the endpoint says, and more where this link, or the run as a whole, has lost
/// tries that were answered later (losses.h): there silence says less of the unit. Those wait as long as the
/// last of the usual ones, or the fourth.
///
/// A try waits half as long again as the one before it. So that units that fell silent together are not
/// asked together for ever, each link puts its tries off by a share of its own, up to a tenth; the last
/// try waits so much less, and all links end after the same time. A SET has one try, and waits as long
/// as the first two of a read. The first try waits as long as the endpoint says, and longer over a
/// link that has shown itself to be slower (RFC 6298 section 2: the smoothed round trip and four times
/// its variation), at most four times as long.
class Patience {
 public:
  /// `of_all`: what all links of the run lose; it outlives this.
  Patience(const Endpoint& endpoint, std::mt19937& random, const Losses& of_all);
  int tries(bool set) const;
  /// For an answer to this try, of which the first is 0.
  std::chrono::microseconds wait(bool set, int attempt) const;
  /// From an answer to the try behind so many that were lost.
  void learn(std::chrono::microseconds round_trip, int lost) {
    round_trips_.learn(round_trip);
    losses_.answered(lost);
  }
  /// For an answer to any try of a read.
  std::chrono::milliseconds all() const;
  /// No try of a request can still be waited for after this.
  std::chrono::milliseconds longest() const;

 private:
  int usual_tries() const { return 1 + std::max(endpoint_.retries, 0); }
  double further_ms() const;
  double first_ms() const;
  double try_ms(int attempt) const;

  const Endpoint& endpoint_;
  const Losses& of_all_;
  Losses losses_;
  double put_off_;  ///< share of each try's time
  RoundTrips round_trips_;
};

class UdpLink final : public Link {
 public:
  UdpLink(EventLoop& loop, std::mt19937& random, Endpoint endpoint, const Address& address);

  /// Speaks as this principal from then on. A user speaks to the engine that the endpoint remembers, or else
  /// to the one that is discovered; a certificate is shown in a handshake, and the engine asked for. A
  /// community needs nothing of the unit first. As nobody: the engine is discovered, and nothing can be asked
  /// of it. To be awaited once, before all else.
  Task<std::optional<Error>> begin(std::shared_ptr<const Principal> principal);

  Task<Answer> get(std::vector<smi::Oid> oids) override;
  Task<Answer> get_next(std::vector<smi::Oid> oids) override;
  using Link::get_bulk;
  Task<Answer> get_bulk(std::vector<smi::Oid> once, std::vector<smi::Oid> repeated, int repetitions) override;
  Task<Answer> set(std::vector<VarBind> varbinds) override;
  Task<bool> answers_little() override;
  Engine engine() const override;
  std::string certificate() const override;
  Traffic traffic() const override;

 private:
  Task<Answer> ask(Request request);
  Task<Answer> exchange(ExchangePtr exchange, int attempt = 0);
  Task<std::optional<Error>> begin_as_user();
  Task<std::optional<Error>> begin_with_community();
  Task<std::optional<Error>> begin_by_certificate();
  Task<std::optional<Error>> ask_engine(PlainChannel& plain);
  Task<std::optional<Error>> connect();
  Task<std::optional<Error>> discover(int attempt);
  Task<std::optional<Error>> discover_once(int attempt);
  Task<bool> privacy_is_wrong();
  Task<bool> tells_its_uptime(bool in_the_clear);
  void note(const Exchange& exchange);
  bool has_privacy() const;
  std::optional<Error> send(const ExchangePtr& exchange);
  Error no_answer(const Exchange& exchange) const;
  bool is_stranger(const std::string& engine_id) const;
  Error wrong_engine(const std::string& heard) const;

  EventLoop& loop_;
  Endpoint endpoint_;
  Patience patience_;
  std::shared_ptr<const Principal> principal_;
  Address address_;
  std::unique_ptr<Channel> channel_;
  // What channel_ is, where it has more to it.
  Session* session_ = nullptr;  ///< of a user
  TlsWire* tls_ = nullptr;      ///< under the channel, by certificate
  /// Of a unit that is spoken to by certificate, as it stood at a moment.
  Engine told_;
  EventLoop::Moment told_at_;
  Window window_;
  Traffic traffic_;
  bool found_ = false;        ///< the unit answered its discovery
  bool heard_ = false;        ///< anything was answered
  bool proven_ = false;       ///< a private answer has come
  std::size_t given_up_ = 0;  ///< requests
  std::size_t silent_ = 0;    ///< requests that wait for an answer to a later try

  /// The engine is one that was remembered, and nothing has been heard of it yet.
  bool assumed_ = false;
  /// The discovery that ends the assumption: under way, and who waits for it.
  struct Doubt {
    bool under_way = false;
    std::optional<Error> error;
    std::vector<EventLoop::SlotPtr> waiting;
  };
  Doubt doubt_;
};

}  // namespace vergeset::snmp
