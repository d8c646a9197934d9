#include "key_run.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "agent.h"
#include "change/recover.h"
#include "change/rekey.h"
#include "fault_disk.h"
#include "fault_network.h"
#include "plan.h"
#include "records/engines.h"
#include "records/journal.h"
#include "snmp/key_change.h"
#include "snmp/local_keys.h"

namespace vergeset::faults {

namespace {

using change::KeyGoal;
using change::KeyWay;
using change::Outcome;
using records::StoredKeys;
using Kind = UnitTrouble::Kind;

const std::string store_path = "keys/fleet.keys";

/// Troubles that a change of keys knows.
bool concerns_keys(const UnitTrouble& trouble) {
  switch (trouble.kind) {
    case Kind::refuses:
    case Kind::ignores:
    case Kind::loses_response:
    case Kind::loses_request:
    case Kind::held_back:
    case Kind::silent:
    case Kind::reboots:
    case Kind::reboots_losing:
    case Kind::clock_jumps:
    case Kind::boots_up:
    case Kind::other_hand:
      return true;
    default:
      return false;
  }
}

Plan draw_keys(std::uint64_t seed) {
  Plan plan = draw(seed);
  for (UnitPlan& unit : plan.units) {
    unit.another = false;
    std::erase_if(unit.troubles, [](const UnitTrouble& trouble) { return !concerns_keys(trouble); });
  }
  plan.held_after_units = -1;
  return plan;
}

snmp::LocalKeys drawn_keys(Dice& dice, const std::string& user, const std::string& engine_id,
                           const std::string& auth, const std::string& privacy) {
  const auto octets = [&dice](std::size_t count) {
    std::string out;
    while (out.size() < count) out += static_cast<char>(dice.next() & 0xffU);
    return out;
  };
  snmp::LocalKeys keys;
  keys.user = user;
  keys.engine_id = engine_id;
  keys.auth = auth;
  keys.privacy = privacy;
  keys.auth_key = octets(snmp::auth_key_size(auth));
  keys.privacy_key = octets(snmp::privacy_key_size(privacy));
  return keys;
}

class Running {
 public:
  Running(std::uint64_t seed, bool tell)
      : dice_(seed ^ 0x6b657973U),
        givers_(seed ^ 0x67697665U),
        plan_(draw_keys(seed)),
        fleet_(*plan_.fleet),
        disk_(dice_.apart(), trace_),
        watch_(fleet_, disk_, trace_),
        network_(dice_.apart(), plan_.weather, watch_, trace_),
        clock_(network_) {
    trace_.on = tell;
    trace_.now = [this] { return network_.now().count(); };
    for (const std::string& line : to_text(plan_)) trace_.say("{}", line);
    draw_goals();
    network_.agents = &agents_;
    network_.dies = [this] { disk_.program_dies(); };
    disk_.troubles = plan_.disk;
    if (plan_.disk_slow_ms > 0)
      disk_.takes_time = [this] { network_.takes(milliseconds(dice_.between(0, plan_.disk_slow_ms))); };
    watch_.of_keys = [this](std::size_t unit, const std::vector<snmp::VarBind>& set) {
      set_leaves(unit, set);
    };
    for (int left = plan_.clock_steps; left > 0; --left)
      clock_.steps.push_back({milliseconds(dice_.between(0, 30000)), dice_.between(-86400000, 86400000)});
  }

  std::optional<Broken> run() {
    network_.kill_at_event = plan_.kill_at_event;
    disk_.kill_at_write = plan_.kill_at_write;
    change_keys();
    network_.kill_at_event = disk_.kill_at_write = 0;
    if (!broken() && is_unfinished()) {
      network_.kill_at_event = plan_.kill_recovery_at_event;
      recover();
      network_.kill_at_event = 0;
    }
    network_.pass(milliseconds(200000));  // what was late has arrived
    trace_.say("the faults cease");
    disk_.mend();
    network_.weather_is(Weather{});
    for (Agent& agent : agents_) agent.troubles_cease();
    if (!broken() && is_unfinished()) end_what_is_left();
    for (std::size_t i = 0; i < agents_.size(); ++i) check_open(i, "in the end");
    if (!broken()) second();
    if (!broken()) check_secrets();
    return watch_.broken();
  }

 private:
  struct Unit {
    std::map<std::string, UsmTables::User> users_first;
    std::map<std::string, std::string> groups_first;
    bool ours = false;  ///< a SET of ours has changed its users since the change began
    std::string said;
  };

  bool broken() const { return watch_.broken().has_value(); }
  const fleet::Unit& unit_of(std::size_t i) const { return fleet_.fleet.units[i]; }
  std::size_t index_of(const fleet::Unit& unit) const {
    return static_cast<std::size_t>(&unit - fleet_.fleet.units.data());
  }

  void draw_goals() {
    const bool md5 = dice_.happens(0.2);
    const std::string auth = md5 ? "MD5" : dice_.happens(0.3) ? "SHA-1" : "SHA-256";
    const std::string privacy = md5 ? "DES" : "AES-128";
    const bool own = dice_.happens(0.5);
    const bool given = dice_.happens(0.4);
    const bool removes = dice_.happens(0.7);
    Dice apart(givers_);
    by_another_ = !own && apart.happens(0.4);
    const std::vector<std::string> groups{"readers", "managers", "shut out"};
    agents_.reserve(plan_.units.size());
    for (std::size_t i = 0; i < plan_.units.size(); ++i) {
      const fleet::Unit& unit = unit_of(i);
      network_.unit_at[unit.host] = i;
      agents_.emplace_back(fleet_, i, plan_.units[i], watch_, trace_, now_);
      Agent& agent = agents_.back();
      const std::string engine =
          unit.engine_id.empty() ? "engine of " + unit.name : *smi::from_hex(unit.engine_id);
      UsmTables users;
      users.engine_id = engine;
      factory_.push_back(drawn_keys(dice_, "factory", engine, auth, privacy));
      users.add(factory_.back(), "managers");
      operator_.push_back(drawn_keys(dice_, "operator", engine, "SHA-256", "AES-128"));
      users.add(operator_.back(), by_another_ ? apart.one_of(groups) : "readers");
      agent.users = users;
      agent.users_are_written();
      agent.users_changed = [this, i] { users_changed(i); };
      for (const milliseconds at : agent.moments()) network_.remind(i, at);
      KeyGoal goal;
      goal.unit = &unit;
      goal.credential = "own";
      goal.user = own ? "factory" : "vergeset";
      goal.auth = auth;
      goal.privacy = privacy;
      goal.renew = true;
      if (by_another_) {
        goal.user = "operator";
        goal.auth = operator_.back().auth;
        goal.privacy = operator_.back().privacy;
        goal.by_credential = "factory";
      }
      if (given) {
        given_.push_back(drawn_keys(dice_, goal.user, engine, goal.auth, goal.privacy));
        goal.given = *snmp::principal_of(given_.back());
      }
      if (!own && removes && !by_another_) goal.remove.push_back("factory");
      goals_.push_back(std::move(goal));
      units_.push_back({});
      note_first(i);
    }
  }

  void note_first(std::size_t i) {
    units_[i].users_first = agents_[i].users->users();
    units_[i].groups_first = agents_[i].users->groups();
    units_[i].ours = false;
    units_[i].said.clear();
  }

  change::World world() {
    change::World world{network_, disk_, clock_, fleet_.fleet, [](const fleet::Unit&) { return nullptr; }};
    if (plan_.remembers_engines) world.engines = &engines_;
    return world;
  }

  // What is seen from outside.

  /// All keys of a unit that stable storage or the fleet's files have.
  std::vector<snmp::LocalKeys> known_keys(std::size_t i) const {
    std::vector<snmp::LocalKeys> all{factory_[i], operator_[i]};
    if (!given_.empty()) all.push_back(given_[i]);
    const std::string* const text = disk_.durable(store_path);
    if (text == nullptr) return all;
    OnlyText place(*text);
    const auto store = records::KeyStore::open(place);
    if (!store) {
      const_cast<Watch&>(watch_).breaks(2, "the key store cannot be read: " + store.problem());
      return all;
    }
    for (const StoredKeys& one : store->of(unit_of(i).name)) all.push_back(change::local_keys(one));
    return all;
  }

  class OnlyText : public records::KeyPlace {
   public:
    explicit OnlyText(std::string text) : text_(std::move(text)) {}
    std::string read() const override { return text_; }
    void append(std::string_view) override {}

   private:
    std::string text_;
  };

  bool opens(std::size_t i, const snmp::LocalKeys& keys) const {
    const UsmTables& users = *agents_[i].users;
    return users.lets_in(keys) == UsmTables::Verdict::welcome && users.may_write(keys.user);
  }
  bool lets_in(std::size_t i, const snmp::LocalKeys& keys) const {
    return agents_[i].users->lets_in(keys) == UsmTables::Verdict::welcome;
  }

  void check_open(std::size_t i, const char* when) {
    const std::vector<snmp::LocalKeys> known = known_keys(i);
    const bool operated = std::any_of(known.begin(), known.end(), [&](const snmp::LocalKeys& keys) {
      return keys.user == "operator" && lets_in(i, keys);
    });
    const bool open =
        std::any_of(known.begin(), known.end(), [&](const snmp::LocalKeys& keys) { return opens(i, keys); });
    if (open && (operated || !by_another_)) return;
    watch_.breaks(2, fmt::format("no key that is on stable storage opens {} {}", unit_of(i).name, when));
  }

  void users_changed(std::size_t i) {
    if (agents_[i].users->users() != units_[i].users_first) units_[i].ours = true;
    check_open(i, "after a SET");
  }

  void set_leaves(std::size_t i, const std::vector<snmp::VarBind>& set) {
    if (trace_.on) {
      std::string text;
      for (const snmp::VarBind& one : set) text += " " + one.oid.str();
      trace_.say("{} SET{}", unit_of(i).name, text);
    }
    for (const std::string& change : disk_.list("changes")) {
      const std::string* const text = disk_.durable("changes/" + change + "/journal.jsonl");
      if (text == nullptr) continue;
      const std::size_t unit = text->rfind(fmt::format("\"unit\":\"{}\"", unit_of(i).name));
      if (unit == std::string::npos) continue;
      const std::size_t line = text->rfind('\n', unit) + 1;
      const std::string event = text->substr(line, text->find('\n', line) - line);
      if (event.find("\"event\":\"step\"") != std::string::npos ||
          event.find("\"event\":\"fence\"") != std::string::npos)
        return;
    }
    watch_.breaks(3,
                  fmt::format("a SET leaves for {} before its line is on stable storage", unit_of(i).name));
  }

  void unit_ends(std::size_t i, const change::UnitResult& result) {
    trace_.say("{} ends {}: {}{}", result.unit, change::outcome_name(result.outcome), result.what,
               result.unfinished ? " (unfinished)" : "");
    if (result.unfinished || result.what.find("still unfinished") != std::string::npos) return;
    units_[i].said = change::outcome_name(result.outcome);
    judge(i, result);
  }

  std::map<std::string, UsmTables::User> without(std::map<std::string, UsmTables::User> users,
                                                 const std::vector<std::string>& names) const {
    for (const std::string& name : names) users.erase(name);
    return users;
  }

  void judge(std::size_t i, const change::UnitResult& result) {
    if (agents_[i].forgot_unheard()) return;
    const std::string name = unit_of(i).name;
    const UsmTables& users = *agents_[i].users;
    const KeyGoal& goal = goals_[i];
    const auto says = [&](const std::string& what) {
      watch_.breaks(1, fmt::format("{} is told as {} ({}), and {}", name,
                                   change::outcome_name(result.outcome), result.what, what));
    };
    switch (result.outcome) {
      case Outcome::settled: {
        const std::vector<snmp::LocalKeys> known = known_keys(i);
        const bool open = std::any_of(known.begin(), known.end(), [&](const snmp::LocalKeys& keys) {
          return keys.user == goal.user && (by_another_ ? lets_in(i, keys) : opens(i, keys));
        });
        if (by_another_ && lets_in(i, operator_[i])) return says("the keys before still let the operator in");
        if (!open) return says("no stored key of its user opens it");
        if (goal.user == "factory" && opens(i, factory_[i])) return says("the keys before still open it");
        const bool left = result.what.find("still there") != std::string::npos;
        if (!goal.remove.empty() && !left && users.users().count("factory") > 0)
          return says("user factory is still there");
        if (!goal.remove.empty() && !left && users.groups().count("factory") > 0)
          return says("user factory is still in its group");
        std::vector<std::string> ours{goal.user};
        if (!by_another_) ours.push_back("factory");
        if (without(users.users(), ours) != without(units_[i].users_first, ours))
          return says("another user is not as it was");
        return;
      }
      case Outcome::restored:
        // One that an earlier change left half made is gone.
        if (goal.user == "vergeset" && users.users().count(goal.user) == 0) {
          units_[i].users_first.erase(goal.user);
          units_[i].groups_first.erase(goal.user);
        }
        if (users.users() != units_[i].users_first) return says("its users are not as they were");
        if (users.groups() != units_[i].groups_first) return says("its groups are not as they were");
        return;
      case Outcome::needs_attention:
        if (plan_.mild())
          watch_.breaks(10,
                        fmt::format("one thing went wrong, and {} needs attention: {}", name, result.what));
        return;
      default:
        if (units_[i].ours) return says("a SET of ours has changed its users");
        return;
    }
  }

  // What is under test.

  KeyGoal goal_now(std::size_t i, const records::KeyStore& store) const {
    KeyGoal goal = goals_[i];
    if (goal.given) goal.ways.push_back({"the given keys", goal.given, "", false, goal.user});
    for (const StoredKeys& one : store.of(unit_of(i).name)) {
      if (one.state == StoredKeys::State::unused) continue;
      if (by_another_ && one.user != goal.user) continue;
      auto way = change::way_of(one);
      if (way) goal.ways.push_back(*std::move(way));
    }
    const KeyWay factory{"credential factory", *snmp::principal_of(factory_[i]), "", false, "factory"};
    if (by_another_) {
      goal.ways.push_back({"credential operator", *snmp::principal_of(operator_[i]), "", false, "operator"});
      goal.by.push_back(factory);
    } else {
      goal.ways.push_back(factory);
    }
    return goal;
  }

  std::optional<records::KeyStore> open_store(records::DiskKeyPlace& place) {
    auto store = records::KeyStore::open(place);
    if (store) return *std::move(store);
    watch_.breaks(2, "the key store cannot be read: " + store.problem());
    return std::nullopt;
  }

  change::KeyTools tools(records::KeyStore& store) {
    return {store, [this](std::size_t count) {
              std::string out;
              while (out.size() < count) out += static_cast<char>(dice_.next() & 0xffU);
              return out;
            }};
  }

  std::optional<change::ChangeResult> change_keys() {
    records::DiskKeyPlace place(disk_, store_path);
    auto store = open_store(place);
    if (!store) return std::nullopt;
    std::vector<KeyGoal> goals;
    for (std::size_t i = 0; i < goals_.size(); ++i) goals.push_back(goal_now(i, *store));
    for (std::size_t i = 0; i < goals_.size(); ++i) note_first(i);
    const change::World outside = world();
    const change::KeyTools with = tools(*store);
    change::ApplyOptions options;
    options.kind = "rekey";
    options.who = "the search";
    options.failures_allowed = fleet_.fleet.failures_allowed;
    options.unit_ends = [this](const fleet::Unit& unit, const change::UnitResult& result) {
      unit_ends(index_of(unit), result);
    };
    network_.program_begins();
    try {
      const auto previews = change::rekey_preview(outside, goals, with, 16);
      change::ChangeResult result = change::rekey(outside, goals, previews, with, options);
      for (std::size_t i = 0; i < result.units.size(); ++i) {
        if (units_[i].said.empty()) unit_ends(i, result.units[i]);
      }
      return result;
    } catch (const records::DiskError& error) {
      trace_.say("rekey ends: {}", error.what());
    } catch (const Killed&) {
      die();
    }
    return std::nullopt;
  }

  void die() {
    trace_.say("killed{}", plan_.power_cut ? " by a power cut" : "");
    disk_.program_dies();
    disk_.program_begins(plan_.power_cut);
    network_.program_dies();
    network_.pass(milliseconds(dice_.between(0, plan_.power_cut ? 60000 : 5000)));
  }

  bool is_unfinished() const { return !records::unfinished_changes(disk_).empty(); }

  void recover(bool give_up = false) {
    trace_.say("recover{}", give_up ? " --give-up" : "");
    records::DiskKeyPlace place(disk_, store_path);
    auto store = open_store(place);
    if (!store) return;
    const change::World outside = world();
    const change::KeyTools with = tools(*store);
    change::RecoverOptions options;
    options.who = "the search";
    options.give_up = give_up;
    options.unit_ends = [this](const fleet::Unit& unit, const change::UnitResult& result) {
      unit_ends(index_of(unit), result);
    };
    options.keys = [&](const fleet::Unit& unit, const records::HalfDone& half, int change,
                       records::Journal& journal, bool& unfinished) {
      return change::recover_keys(outside, unit, half, change, journal, with, options, unfinished);
    };
    network_.program_begins();
    try {
      change::recover(outside, options);
    } catch (const records::DiskError& error) {
      trace_.say("recover ends: {}", error.what());
    } catch (const Killed&) {
      die();
    }
  }

  void end_what_is_left() {
    recover();
    if (broken()) return;
    if (is_unfinished()) {
      if (std::none_of(agents_.begin(), agents_.end(), [](const Agent& a) { return a.broken_for_good(); }))
        return watch_.breaks(8, "with the faults gone, recovery does not end the change");
      recover(true);
      if (is_unfinished()) return watch_.breaks(8, "a change that was given up is still unfinished");
    }
    const auto before = disk_.records();
    const std::size_t sets = watch_.sets();
    recover();
    if (watch_.sets() != sets) watch_.breaks(8, "recovery was run once more, and sent a SET");
    if (disk_.records() != before) watch_.breaks(8, "recovery was run once more, and changed a record");
  }

  void second() {
    trace_.say("a second change of keys");
    plan_.disk.clear();
    const auto result = change_keys();
    if (broken()) return;
    if (!result) return watch_.breaks(7, "a second change of keys with the faults gone does not end");
    for (std::size_t i = 0; i < agents_.size(); ++i) {
      const change::UnitResult& unit = result->units[i];
      const bool for_good = agents_[i].broken_for_good();
      const bool held = unit.outcome == Outcome::held;
      if (unit.outcome == Outcome::settled || unit.outcome == Outcome::nothing_to_do || for_good) continue;
      if (held &&
          std::any_of(agents_.begin(), agents_.end(), [](const Agent& a) { return a.broken_for_good(); }))
        continue;
      watch_.breaks(7, fmt::format("a second change of keys with the faults gone ends {} as {} ({})",
                                   unit.unit, change::outcome_name(unit.outcome), unit.what));
    }
  }

  /// Every key of the store, in hex and as it is, in everything else that was written.
  void check_secrets() {
    const std::string* const text = disk_.durable(store_path);
    if (text == nullptr) return;
    OnlyText place(*text);
    const auto store = records::KeyStore::open(place);
    if (!store) return;
    const auto all = disk_.records();
    for (std::size_t i = 0; i < agents_.size(); ++i) {
      for (const StoredKeys& one : store->of(unit_of(i).name)) {
        for (const auto& [path, octets] : all) {
          if (path == store_path) continue;
          for (const std::string& key : {one.auth_key, one.privacy_key}) {
            if (octets.find(key) != std::string::npos || octets.find(smi::to_hex(key)) != std::string::npos)
              return watch_.breaks(4, "a key stands in " + path);
          }
        }
      }
    }
  }

  Dice dice_;
  std::uint64_t givers_;
  Plan plan_;
  const SmallFleet& fleet_;
  Trace trace_;
  FaultDisk disk_;
  Watch watch_;
  FaultNetwork network_;
  FaultClock clock_;
  const std::function<milliseconds()> now_ = [this] { return network_.now(); };
  std::vector<Agent> agents_;
  bool by_another_ = false;  ///< the factory's user gives the operator its keys
  std::vector<snmp::LocalKeys> factory_;
  std::vector<snmp::LocalKeys> operator_;
  std::vector<snmp::LocalKeys> given_;
  std::vector<KeyGoal> goals_;
  std::vector<Unit> units_;
  records::Engines engines_;
};

}  // namespace

std::optional<Broken> run_keys(std::uint64_t seed, bool tell) {
  return Running(seed, tell).run();
}

}  // namespace vergeset::faults
