#pragma once

#include <chrono>
#include <functional>
#include <map>
#include <memory>
#include <queue>
#include <string>
#include <utility>
#include <vector>

#include "records/clock.h"
#include "sim/sim_unit.h"
#include "snmp/network.h"

namespace vergeset::test {

using std::chrono::milliseconds;

/// A network in virtual time with simulated units behind it: no socket, no thread, no real clock.
class SimNetwork : public snmp::Network {
 public:
  /// Units by "host:port".
  std::map<std::string, sim::SimUnit> units;
  /// Their engine ids, where they have others than "engine of HOST:PORT".
  std::map<std::string, std::string> engines;
  /// Why it does not let this principal in; called once for each that comes. Empty: it lets in whoever comes.
  std::function<std::optional<snmp::Failure>(const std::string& where, const snmp::Principal*)> refuses;
  milliseconds one_way{20};
  /// Every SET that arrived: unit and binding, in order, whatever became of it.
  struct Sent {
    std::string where;
    std::vector<snmp::VarBind> varbinds;
  };
  std::vector<Sent> sets;
  /// Called before a SET is sent, to check what must be on disk by then.
  std::function<void(const std::string& where)> before_set;
  /// Called when a unit has dealt with a SET, before its response.
  std::function<void(const std::string& where, const std::vector<snmp::VarBind>&)> after_set;
  /// Set by either: the program is killed before anything else happens, and run_each throws this.
  struct Killed {};
  bool kill = false;

  std::int64_t now_ms() const { return start + time_.count(); }
  static constexpr std::int64_t start = 1795000000000;  // a day in November 2026

  snmp::Task<snmp::Opened> open(snmp::Endpoint endpoint,
                                std::shared_ptr<const snmp::Principal> principal) override {
    const std::string where = endpoint.host + ":" + std::to_string(endpoint.port);
    co_await sleep(2 * one_way);
    snmp::Opened opened;
    const auto unit = units.find(where);
    if (unit == units.end()) {
      co_await sleep(milliseconds(endpoint.timeout_ms));
      opened.error = no_answer();
      co_return opened;
    }
    const auto own = engines.find(where);
    const std::string engine = own == engines.end() ? "engine of " + where : own->second;
    if (endpoint.only_engine && *endpoint.only_engine != engine) {
      opened.error = {snmp::Failure::wrong_engine, 0, 0, "another engine"};
      opened.error.engine = engine;
      co_return opened;
    }
    if (const auto refused = refuses ? refuses(where, principal.get()) : std::nullopt) {
      opened.error = {*refused, 0, 0, "refused"};
      co_return opened;
    }
    opened.link = std::make_unique<SimLink>(*this, where, unit->second, engine);
    co_return opened;
  }

  snmp::Task<void> sleep(milliseconds duration) override { co_await Wait{*this, duration}; }
  milliseconds now() const override { return time_; }

  void run_each(std::size_t count, const std::function<snmp::Task<void>(std::size_t)>& begin,
                std::size_t at_once) override {
    std::vector<snmp::Task<void>> tasks;
    std::vector<std::size_t> live;
    while (tasks.size() < count || !live.empty()) {
      while (tasks.size() < count && live.size() < at_once) {
        live.push_back(tasks.size());
        tasks.push_back(begin(tasks.size()));
        tasks.back().start();
      }
      std::erase_if(live, [&](std::size_t i) { return tasks[i].done(); });
      if (live.size() < at_once && tasks.size() < count) continue;
      if (live.empty() || events_.empty()) break;
      if (std::exchange(kill, false)) {
        events_ = {};
        throw Killed{};
      }
      const Event event = events_.top();
      events_.pop();
      time_ = std::max(time_, event.at);
      event.handle.resume();
      std::erase_if(live, [&](std::size_t i) { return tasks[i].done(); });
    }
    for (snmp::Task<void>& task : tasks) task.take();
  }

 private:
  struct Event {
    milliseconds at;
    std::uint64_t number;
    std::coroutine_handle<> handle;
    bool operator<(const Event& other) const {
      return std::pair(at, number) > std::pair(other.at, other.number);
    }
  };
  struct Wait {
    SimNetwork& network;
    milliseconds duration;
    bool await_ready() const { return false; }
    void await_suspend(std::coroutine_handle<> handle) {
      network.events_.push({network.time_ + duration, network.count_++, handle});
    }
    void await_resume() const {}
  };

  static snmp::Error no_answer() { return {snmp::Failure::no_answer, 0, 0, "no answer"}; }

  class SimLink : public snmp::Link {
   public:
    SimLink(SimNetwork& network, std::string where, sim::SimUnit& unit, std::string engine)
        : network_(network), where_(std::move(where)), unit_(unit) {
      engine_.id = std::move(engine);
    }

    snmp::Task<snmp::Answer> get(std::vector<smi::Oid> oids) override {
      const bool arrived = co_await arrives();
      if (!arrived) co_return no_answer();
      std::vector<snmp::VarBind> out;
      for (const smi::Oid& oid : oids) out.push_back({oid, unit_.store.get(oid, network_.now_ms())});
      co_await network_.sleep(network_.one_way);
      co_return out;
    }
    snmp::Task<snmp::Answer> get_next(std::vector<smi::Oid> oids) override {
      return get_bulk(std::vector<smi::Oid>(), std::move(oids), 1);
    }
    using Link::get_bulk;
    snmp::Task<snmp::Answer> get_bulk(std::vector<smi::Oid> once, std::vector<smi::Oid> repeated,
                                      int repetitions) override {
      const bool arrived = co_await arrives();
      if (!arrived) co_return no_answer();
      std::vector<snmp::VarBind> out;
      const auto step = [&](smi::Oid& oid) {
        const auto next = unit_.store.get_next(oid, network_.now_ms());
        if (next) oid = next->oid;
        out.push_back({oid, next ? next->value : smi::Value::of_number(smi::Type::end_of_mib_view, 0)});
      };
      for (smi::Oid& oid : once) step(oid);
      for (int i = 0; i < repetitions; ++i) {
        for (smi::Oid& oid : repeated) step(oid);
      }
      co_await network_.sleep(network_.one_way);
      co_return out;
    }
    snmp::Task<snmp::Answer> set(std::vector<snmp::VarBind> varbinds) override {
      if (network_.before_set) network_.before_set(where_);
      network_.sets.push_back({where_, varbinds});
      ++traffic_.sets;
      co_await network_.sleep(network_.one_way);
      if (!unit_.takes_set(varbinds.size())) {
        snmp::Answer nothing = co_await silence();
        co_return nothing;
      }
      std::vector<sim::VarBind> binds;
      for (const snmp::VarBind& one : varbinds) binds.push_back({one.oid, one.value});
      const sim::Verdict verdict = unit_.check(binds, network_.now_ms());
      if (verdict.ok()) unit_.commit(network_.now_ms());
      unit_.set_done(verdict.ok());
      if (network_.after_set) network_.after_set(where_, varbinds);
      if (!unit_.answers_set()) {
        snmp::Answer nothing = co_await silence();
        co_return nothing;
      }
      co_await network_.sleep(network_.one_way);
      if (verdict.ok()) co_return varbinds;
      const int status = static_cast<int>(verdict.status);
      snmp::Error error{snmp::Failure::error_status, status, verdict.index,
                        std::string(snmp::status_name(status))};
      if (verdict.status == sim::Status::too_big) error.failure = snmp::Failure::too_big;
      co_return error;
    }
    snmp::Engine engine() const override { return engine_; }
    snmp::Traffic traffic() const override { return traffic_; }

   private:
    /// A read travels there; it is tried three times more where it is lost.
    snmp::Task<bool> arrives() {
      for (int tries = 0; tries < 4; ++tries) {
        ++traffic_.requests;
        co_await network_.sleep(network_.one_way);
        if (unit_.takes_get()) co_return true;
        co_await network_.sleep(milliseconds(1500));
      }
      co_return false;
    }
    snmp::Task<snmp::Answer> silence() {
      co_await network_.sleep(milliseconds(1500));
      co_return no_answer();
    }

    SimNetwork& network_;
    std::string where_;
    sim::SimUnit& unit_;
    snmp::Engine engine_;
    snmp::Traffic traffic_;
  };

  milliseconds time_{0};
  std::uint64_t count_ = 0;
  std::priority_queue<Event> events_;
};

/// The wall clock of a simulated network.
class SimClock : public records::Clock {
 public:
  explicit SimClock(const SimNetwork& network) : network_(network) {}
  std::int64_t now() const override { return network_.now_ms(); }

 private:
  const SimNetwork& network_;
};

}  // namespace vergeset::test
