#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/store.h"
#include "sim/trouble.h"

namespace vergeset::sim {

struct Counters {
  std::uint64_t gets = 0;          ///< GET, GETNEXT and GETBULK requests
  std::uint64_t sets = 0;          ///< SET requests
  std::uint64_t set_varbinds = 0;  ///< variable bindings in them
  std::uint64_t sets_refused = 0;  ///< SETs with an error-status

  /// Of the agent around the unit; UDP payloads. `in` is all that reached the port, `out` all that left.
  struct Way {
    std::uint64_t datagrams = 0;
    std::uint64_t octets = 0;
    std::uint64_t lost = 0;  ///< by chance: of those in, not heard; out, never sent
  };
  Way in;
  Way out;
};

/// A store with its troubles: what a request to this unit comes to, however it travels. The agent
/// drives it over UDP; a simulation in virtual time can drive it directly. Copyable, no clock.
///
///   if (!unit.takes_get()) no answer;          or  if (!unit.takes_set(n)) no answer;
///   unit.store.get(...)                            verdict = unit.check(set, now);
///                                                  if (verdict.ok()) unit.commit(now);
///                                                  unit.set_done(verdict.ok());
///                                                  if (!unit.answers_set()) no answer;
class SimUnit {
 public:
  explicit SimUnit(Store made) : store(std::move(made)), at_start_(store) {}

  Store store;
  Trouble trouble;
  Counters counters;
  std::uint32_t boots = 1;  ///< snmpEngineBoots (RFC 3414 2.2.2)

  /// A request has come: counted. False where it is lost.
  bool takes_get();
  bool takes_set(std::size_t varbinds);

  /// What the SET comes to, troubles first; remembers what is to be carried out of it.
  ///
  /// Of users and access (access_names.h) it judges by the troubles alone; what they come to otherwise is
  /// the agent's to say.
  Verdict check(const std::vector<VarBind>& set, std::int64_t now);
  /// True where the variable, of the SET just checked, is not to be ignored.
  bool carries_out(const smi::Oid& variable) const;
  void commit(std::int64_t now);
  void undo();
  void set_done(bool carried_out);
  /// False where the response to the SET just done is lost.
  bool answers_set();

  /// A reboot that was asked for, by rsuReboot or by hand; `lose` forgets all that was SET since the
  /// start.
  struct Reboot {
    bool lose = false;
    bool forgets_access = false;  ///< changes of users and access too, or these alone
  };
  void ask_reboot(bool lose) { reboot_ = Reboot{lose, lose}; }
  std::optional<Reboot> take_reboot();
  /// What it is to say unasked, by hand.
  struct Saying {
    smi::Oid notification;  ///< snmpTrapOID
    std::string host;
    std::uint16_t port = 162;
  };
  void ask_saying(Saying saying) { saying_ = std::move(saying); }
  std::optional<Saying> take_saying() { return std::exchange(saying_, std::nullopt); }
  /// Boots go up by one, times and counters of the unit begin again.
  void reboot(const Reboot& how, std::int64_t now);

 private:
  bool names(const std::string& wanted, const VarBind& bind) const;
  Verdict check_store(const std::vector<VarBind>& set, std::int64_t now) const;
  bool contains(const std::string& wanted, const std::vector<VarBind>& set, std::size_t* binding) const;

  Store at_start_;
  std::vector<VarBind> to_commit_;
  std::optional<Reboot> reboot_;
  std::optional<Saying> saying_;
};

}  // namespace vergeset::sim
