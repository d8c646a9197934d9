#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "change/key_hand.h"
#include "snmp/local_keys.h"

namespace vergeset::change {

/// What is to be done to the users of one unit, in this order.
struct KeyPlan {
  bool own_keys = false;    ///< the user that opens it gives itself new ones
  bool given_keys = false;  ///< the user that opens it gives another new ones
  bool new_user = false;    ///< it adds another, made from itself
  bool half_made = false;   ///< a change that was broken off left it there half made: it goes first
  bool joins = false;       ///< it is put in the group of the other
  std::string group;
  struct Rows {
    bool user = false;
    bool group = false;
  };
  std::map<std::string, Rows> remove;  ///< users, and what there is of them

  bool nothing() const { return !changes_keys() && remove.empty(); }
  bool changes_keys() const { return own_keys || given_keys || new_user; }
  /// For people: a SET each.
  std::vector<std::string> abouts(const std::string& user, const std::string& opener) const;
};

/// The change of keys of one unit.
class Rekeying {
 public:
  Rekeying(const World& world, const KeyGoal& goal, const KeyTools& tools, records::Journal& journal,
           const SettleOptions& options)
      : goal_(goal), tools_(tools), options_(options), hand_(world, *goal.unit, journal, options) {}

  /// Whole: from finding the way in to the outcome on record.
  snmp::Task<UnitResult> run();
  /// As far as the plan; sends no SET and records nothing but what it asked. `opener` is the way that opened.
  snmp::Task<UnitResult> look_only(std::string& opener);

 private:
  snmp::Task<bool> begin();
  snmp::Task<bool> find_way();
  snmp::Task<bool> opens_by(const std::vector<KeyWay>& ways, bool access_is_needed, bool& reads);
  snmp::Task<bool> is_the_unit();
  void note_survivor();
  bool plan();
  bool plan_by_itself(const std::string& by);
  bool plan_by_another(const std::string& by);
  bool is_given_already() const;
  bool has_protocols(const UnitUser& user, const std::string& what);
  std::optional<Problem> make_keys();
  snmp::Task<void> store(std::uint64_t line);
  void store_giver();

  snmp::Task<void> change();
  Result<std::vector<snmp::VarBind>> key_changes(UserColumn auth, UserColumn privacy) const;
  snmp::Task<std::string> set_own_keys();
  snmp::Task<std::string> add_user();
  snmp::Task<std::string> give_keys(std::string about);
  snmp::Task<std::string> join_group();
  snmp::Task<std::string> prove();
  bool is_let_in(const Tried& tried) const;
  snmp::Task<std::string> back_to_giver();
  snmp::Task<std::string> old_is_refused();
  snmp::Task<std::string> others_are_as_before();
  snmp::Task<std::string> remove_users();
  snmp::Task<std::string> is_as_at_first();
  snmp::Task<void> go_back(std::string why);
  snmp::Task<std::string> take_user_out();
  void left_to_recovery(const std::string& why);
  std::vector<std::string> new_user_abouts() const;
  bool is_half_made(const std::string& user) const;
  snmp::Task<KeyHand::Seen> who_opens();

  InHand& in_hand() { return hand_.hand(); }
  void end(Outcome outcome, std::string what) { in_hand().end(outcome, std::move(what)); }
  smi::Oid user_at(UserColumn column) const;

  const KeyGoal& goal_;
  const KeyTools& tools_;
  const SettleOptions& options_;
  KeyHand hand_;
  KeyPlan plan_;
  UnitUsers at_first_;
  std::string engine_id_;
  KeyWay old_way_;
  bool old_reads_ = true;  ///< what opened it before may read
  KeyWay giver_;           ///< the other user, where that gives it its keys
  KeyWay new_way_;
  snmp::LocalKeys old_keys_;
  snmp::LocalKeys new_keys_;
  std::string new_id_;     ///< in the key store
  bool unproven_ = false;  ///< the new keys open it, and whether they write is not known
};

/// What the steps are about, here and in the journal.
std::string own_keys_about(const std::string& user);
std::string removal_about(const std::string& user);
/// Empty, or why it was not done. The unit is open by another user.
snmp::Task<std::string> remove_user(KeyHand& hand, std::string engine_id, std::string user,
                                    KeyPlan::Rows rows);

}  // namespace vergeset::change
