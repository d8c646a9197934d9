#pragma once

#include <memory>
#include <optional>
#include <random>
#include <vector>

#include "snmp/event_loop.h"
#include "snmp/network.h"
#include "snmp/session.h"

namespace vergeset::snmp {

/// When to send again and when to give up.
///
/// A try waits half as long again as the one before it, and each up to a fifth more at random, so that
/// units that fell silent together are not asked together for ever. A SET has one try, and waits as
/// long as the first two of a read.
class Patience {
 public:
  Patience(const Endpoint& endpoint, std::mt19937& random) : endpoint_(endpoint), random_(random) {}
  int tries(bool set) const;
  std::chrono::milliseconds wait(bool set, int attempt);
  /// No try of a request can still be waited for after this.
  std::chrono::milliseconds longest() const;

 private:
  const Endpoint& endpoint_;
  std::mt19937& random_;
};

class UdpLink final : public Link {
 public:
  UdpLink(EventLoop& loop, std::mt19937& random, Endpoint endpoint, const Address& address);

  /// Finds the engine and speaks as this user from then on. To be awaited once, before all else.
  Task<std::optional<Error>> discover(std::shared_ptr<const UserKeys> keys);

  Task<Answer> get(std::vector<smi::Oid> oids) override;
  Task<Answer> get_next(std::vector<smi::Oid> oids) override;
  Task<Answer> get_bulk(std::vector<smi::Oid> oids, int repetitions) override;
  Task<Answer> set(std::vector<VarBind> varbinds) override;
  const Engine& engine() const override { return engine_; }
  Traffic traffic() const override { return traffic_; }

 private:
  Task<Answer> ask(Request request);
  Task<Answer> exchange(ExchangePtr exchange);
  Task<bool> privacy_is_wrong();
  std::optional<Error> send(const ExchangePtr& exchange);
  Error no_answer(const Exchange& exchange) const;

  EventLoop& loop_;
  Endpoint endpoint_;
  Patience patience_;
  Session session_;
  Engine engine_;
  Traffic traffic_;
  bool proven_ = false;  ///< a private answer has come
};

}  // namespace vergeset::snmp
