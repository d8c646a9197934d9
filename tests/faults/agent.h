#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "dice.h"
#include "plan.h"
#include "sim/sim_unit.h"
#include "snmp/local_keys.h"
#include "snmp/network.h"
#include "trace.h"
#include "usm_tables.h"
#include "watch.h"

namespace vergeset::faults {

/// A request as it travels.
struct Request {
  enum class Kind { discovery, get, get_next, get_bulk, set };
  Kind kind = Kind::get;
  std::vector<smi::Oid> once;
  std::vector<smi::Oid> repeated;
  int repetitions = 0;
  std::vector<snmp::VarBind> set;
};

/// What SNMPv3 puts around a request of ours (RFC 3414).
struct Stamp {
  std::string engine_id;
  std::uint32_t boots = 0;
  std::int64_t set_by_ms = 0;  ///< how far the unit's clock had been set when we last heard of it
  milliseconds sent{0};
  milliseconds read_before{-1};  ///< when the last read before it was dealt with; for promise 9
  std::shared_ptr<const snmp::LocalKeys> keys = {};  ///< who asks, where users are simulated
};

struct Response {
  enum class Kind {
    answer,
    not_in_time_window,
    unknown_engine,
    discovered,
    unknown_user,
    wrong_auth,
    wrong_privacy,
  };
  Kind kind = Kind::answer;
  std::vector<snmp::VarBind> varbinds;
  sim::Status status = sim::Status::no_error;
  std::size_t index = 0;
  std::string engine_id;
  std::uint32_t boots = 0;
  std::int64_t set_by_ms = 0;
};

/// A unit behind the simulated network: a store of src/sim, SNMPv3's clock and engine, and what it was drawn
/// to do wrong. It tells the watch of all that happens to it.
class Agent {
 public:
  Agent(const SmallFleet& fleet, std::size_t unit, const UnitPlan& plan, Watch& watch, Trace& trace,
        const std::function<milliseconds()>& now);

  sim::Store store;
  /// Where there are none, everybody is welcome.
  std::optional<UsmTables> users;
  /// It has forgotten what was SET since the last request of a user that it answered: who asked it cannot
  /// know.
  bool forgot_unheard() const { return forgot_unheard_; }
  std::function<void()> users_changed;  ///< by a SET, or a start that forgets
  /// The users that a start which forgets goes back to.
  void users_are_written() { users_at_start_ = users; }
  /// Nothing where it is not heard.
  std::optional<Response> take(const Request& request, const Stamp& stamp);
  /// Whether a SET that would arrive now is under way for longer, and how long.
  std::optional<milliseconds> holds_back();
  /// What happens at a moment and not at a request.
  void time_passes();
  /// The troubles end, but for those that are for ever.
  void troubles_cease();

  Behind behind() const { return {&store, plan_.offers_serial, another_}; }
  bool offers_serial() const { return plan_.offers_serial; }
  /// Something of it is broken for ever, or it is another unit.
  bool broken_for_good() const;
  bool another() const { return another_; }
  bool engine_is_other() const { return engine_id_ != engine_at_first_; }
  /// Moments at which time_passes() is to be called.
  std::vector<milliseconds> moments() const;
  int sets() const { return sets_; }  ///< that have arrived and were timely

 private:
  using Kind = UnitTrouble::Kind;
  using When = UnitTrouble::When;

  std::int64_t wall() const { return start_ms + now_().count(); }
  void move_cells();
  void move_cell(Dice& dice, bool by_other_hand);
  void put(const schema::Object& object, std::uint32_t index, const smi::Value& value);
  void happen(When when, int number);
  void strike(const UnitTrouble& trouble);
  void reboot(bool losing);
  void other_hand(std::uint64_t detail);
  void lose_row(std::uint64_t detail);
  void become_another(std::uint64_t detail);
  void other(const char* what);

  Response discovered() const;
  std::optional<Response> read(const Request& request);
  smi::Value value_of(const smi::Oid& oid) const;
  Response get(const std::vector<smi::Oid>& oids) const;
  Response bulk(const Request& request) const;
  std::optional<Response> set(const Request& request, const Stamp& stamp);
  std::optional<Response::Kind> not_welcome(const Stamp& stamp) const;
  std::optional<Response> set_users(const Request& request, const std::string& by);
  std::optional<sim::VarBind> next(const smi::Oid& oid) const;
  /// The trouble of this kind that is due at the present SET or read.
  UnitTrouble* due(Kind kind, int number);
  Response refuse(sim::Status status, std::size_t index) const;
  bool objects_to_rows(const std::vector<sim::VarBind>& set) const;
  void carry_out(const std::vector<sim::VarBind>& set, const Stamp& stamp);

  const SmallFleet& fleet_;
  std::size_t unit_;
  const fleet::Unit& of_;
  UnitPlan plan_;
  Watch& watch_;
  Trace& trace_;
  const std::function<milliseconds()>& now_;
  std::vector<const schema::Object*> objects_;
  sim::Store at_start_;
  std::optional<UsmTables> users_at_start_;
  std::string engine_id_;
  std::string engine_at_first_;
  std::uint32_t boots_ = 7;
  std::int64_t set_by_ms_ = 0;
  int sets_ = 0;
  int reads_ = 0;
  sim::Store::Stuck stuck_ = sim::Store::Stuck::standby;
  int stuck_times_ = 0;
  milliseconds silent_until_{-1};
  bool forgot_unheard_ = false;
  bool another_ = false;
  bool for_good_ = false;
  bool watched_ = false;
};

}  // namespace vergeset::faults
