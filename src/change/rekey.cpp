#include "change/rekey.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "change/rekey_unit.h"
#include "records/change_record.h"
#include "records/mistake.h"
#include "snmp/local_keys.h"

namespace vergeset::change {

namespace {

using records::StoredKeys;

/// Each attempt that fails brings a unit nearer to locking users out (common practice, no source).
constexpr std::size_t most_attempts = 8;

snmp::Task<void> preview_one(const World& world, const KeyGoal& goal, const KeyTools& tools, Preview& out) {
  if (world.progress != nullptr) world.progress->begins();
  records::Journal none(world.disk, world.clock, "");
  SettleOptions options;
  options.purpose = dry_run;
  Rekeying rekeying(world, goal, tools, none, options);
  out.result = co_await rekeying.look_only(out.opener);
  const bool failed = out.result.outcome == Outcome::no_answer || out.result.outcome == Outcome::refused;
  if (world.progress != nullptr) world.progress->ends(failed);
}

/// Those that may open it: the new ones first.
std::vector<StoredKeys> candidates(const records::KeyStore& store, const std::string& unit, int change) {
  std::vector<StoredKeys> all = store.of(unit);
  std::erase_if(all, [&](const StoredKeys& one) {
    return one.state == StoredKeys::State::unused && one.change != change;
  });
  std::stable_sort(all.begin(), all.end(), [&](const StoredKeys& a, const StoredKeys& b) {
    const auto rank = [&](const StoredKeys& one) {
      const bool is_new = one.change == change && one.state != StoredKeys::State::before;
      return is_new ? 0 : one.change == change ? 1 : one.state == StoredKeys::State::opens ? 2 : 3;
    };
    return rank(a) < rank(b);
  });
  return all;
}

/// One unit of a change of keys that was broken off.
class RecoveringKeys {
 public:
  RecoveringKeys(const World& world, const fleet::Unit& unit, const records::HalfDone& half,
                 records::Journal& journal, const KeyTools& tools, const SettleOptions& options, bool give_up)
      : world_(world),
        unit_(unit),
        half_(half),
        change_(options.change),
        tools_(tools),
        give_up_(give_up),
        hand_(world, unit, journal, options) {}

  /// The result; `unfinished` where nothing is put on record.
  snmp::Task<UnitResult> run(bool& unfinished) {
    bool ended = false;
    try {
      ended = co_await recover();
    } catch (const records::DiskError& error) {
      in_hand().result().records_failed = true;
      end(Outcome::no_answer, fmt::format("{}; still unfinished", error.what()));
    }
    if (ended) co_await in_hand().close();
    unfinished = !ended || in_hand().result().unfinished;
    co_return std::move(in_hand().result());
  }

 private:
  InHand& in_hand() { return hand_.hand(); }
  void end(Outcome outcome, std::string what) { in_hand().end(outcome, std::move(what)); }

  bool out_of_reach(const std::string& why) {
    end(give_up_ ? Outcome::needs_attention : Outcome::no_answer,
        fmt::format("{}; {}", why, give_up_ ? "given up: its keys stay stored" : "still unfinished"));
    return give_up_;
  }

  snmp::Task<bool> recover() {
    if (!in_hand().claimed()) co_return out_of_reach(in_hand().result().what);
    const std::vector<StoredKeys> all = candidates(tools_.store, unit_.name, change_);
    const auto made = std::find_if(all.begin(), all.end(), [this](const StoredKeys& one) {
      return one.change == change_ && one.state != StoredKeys::State::before;
    });
    if (half_.announced.empty()) {
      if (made != all.end()) {
        tools_.store.mark(made->id, StoredKeys::State::unused, 0);
        tools_.store.sync();
      }
      end(Outcome::held, "the change ended before its first SET");
      co_return true;
    }
    if (records::makes(records::Mistake::recover_nothing)) {
      end(Outcome::restored, "");
      co_return true;
    }
    if (!half_.giver.empty() && made != all.end()) {
      const bool given = co_await recover_given(*made, all);
      co_return given;
    }
    // Where the user gave itself keys, no other's tell whether it still gets in, and it was there before.
    own_change_ = made != all.end() && was_announced(own_keys_about(made->user));
    std::vector<KeyWay> ways = ways_of(all, own_change_ ? made->user : std::string());
    if (const auto own = world_.principal_of(unit_))
      ways.push_back({"credential " + unit_.credential, own, ""});
    std::string refusals;
    std::size_t attempts = 0;
    for (const KeyWay& way : ways) {
      if (attempts++ == most_attempts) break;
      const bool is_new = made != all.end() && way.stored == made->id;
      const Tried tried = co_await open_surely(hand_, way);
      if (tried.kind == Tried::Kind::silent || tried.kind == Tried::Kind::stranger)
        co_return out_of_reach(tried.why);
      std::string why = tried.why;
      if (tried.kind == Tried::Kind::opens) {
        const Tried reigns = co_await in_charge(hand_);
        if (reigns.kind == Tried::Kind::silent) co_return out_of_reach(reigns.why);
        why = reigns.why;
        if (reigns.kind == Tried::Kind::opens) {
          bool ended = false;
          if (is_new) {
            ended = co_await finish(*made);
          } else {
            ended = co_await go_back(made == all.end() ? nullptr : &*made);
          }
          co_return ended;
        }
      }
      refusals += fmt::format("{}{}: {}", refusals.empty() ? "" : "; ", way.name, why);
    }
    end(Outcome::needs_attention, "no stored key opens it. " + refusals);
    co_return true;
  }

  /// Those of one user, or of all.
  static std::vector<KeyWay> ways_of(const std::vector<StoredKeys>& all, const std::string& user) {
    std::vector<KeyWay> ways;
    for (const StoredKeys& one : all) {
      if (!user.empty() && one.user != user) continue;
      auto way = way_of(one);
      if (way) ways.push_back(*std::move(way));
    }
    return ways;
  }

  /// The first of these ways that the unit lets in, which it is open by then; `may_read` where that is to be
  /// more than authenticated.
  snmp::Task<Tried> let_in_by(std::vector<KeyWay> ways, bool may_read) {
    Tried last{Tried::Kind::refused, ""};
    std::string refusals;
    std::size_t attempts = 0;
    for (const KeyWay& way : ways) {
      if (attempts++ == most_attempts) break;
      last = co_await open_surely(hand_, way);
      const bool in = last.kind == Tried::Kind::opens || (!may_read && last.kind == Tried::Kind::no_access);
      if (in || last.kind == Tried::Kind::silent || last.kind == Tried::Kind::stranger) {
        if (in) last.kind = Tried::Kind::opens;
        co_return last;
      }
      refusals += fmt::format("{}{}: {}", refusals.empty() ? "" : "; ", way.name, last.why);
    }
    co_return Tried{Tried::Kind::refused, refusals.empty() ? "none is stored" : refusals};
  }

  /// Another user was giving the unit's user its keys, and has to shut out what may come late before those
  /// from before the change count as the unit's.
  snmp::Task<bool> recover_given(StoredKeys made, std::vector<StoredKeys> all) {
    for (const bool shut : {false, true}) {
      const Tried tried = co_await let_in_by(ways_of(all, made.user), false);
      if (tried.kind == Tried::Kind::refused) {
        end(Outcome::needs_attention,
            fmt::format("no stored key of user {} opens it. {}", made.user, tried.why));
        co_return true;
      }
      if (tried.kind != Tried::Kind::opens) co_return out_of_reach(tried.why);
      const bool is_new = hand_.way().stored == made.id;
      if (is_new || shut) {
        put_away(made, is_new);
        co_return true;
      }
      const Tried giver = co_await let_in_by(ways_of(all, half_.giver), true);
      if (giver.kind != Tried::Kind::opens)
        co_return out_of_reach(
            fmt::format("as user {}, who was giving it its keys: {}", half_.giver, giver.why));
      const std::string failure = co_await hand_.count_lock_on("so that nothing comes late");
      if (!failure.empty()) co_return out_of_reach(failure);
    }
    co_return false;
  }

  void put_away(const StoredKeys& made, bool opens) {
    const auto boots = static_cast<std::int64_t>(hand_.link().engine().boots);
    tools_.store.mark(made.id, opens ? StoredKeys::State::opens : StoredKeys::State::unused,
                      opens ? boots : 0);
    tools_.store.sync();
    if (opens) {
      end(Outcome::settled,
          fmt::format("finished by vergeset recover: its new keys open it as {}", made.user));
    } else {
      end(Outcome::restored, fmt::format("the change was broken off; it is open by {}", hand_.way().name));
    }
  }

  snmp::Task<bool> finish(const StoredKeys& made) {
    tools_.store.mark(made.id, StoredKeys::State::opens,
                      static_cast<std::int64_t>(hand_.link().engine().boots));
    tools_.store.sync();
    end(Outcome::settled, "finished by vergeset recover: its new keys open it");
    const auto error = co_await hand_.look();
    if (error) co_return out_of_reach(error->text);
    for (const StoredKeys& before : tools_.store.of(unit_.name)) {
      if (before.change != change_ || before.state != StoredKeys::State::before || before.user == made.user)
        continue;
      const KeyPlan::Rows rows{hand_.users().users.count(before.user) > 0,
                               hand_.users().groups.count(before.user) > 0};
      if (!rows.user && !rows.group) continue;
      if (!was_announced(removal_about(before.user))) {
        tell_still_there(before.user);
        continue;
      }
      const std::string failure = co_await remove_user(hand_, before.engine_id, before.user, rows);
      if (!failure.empty()) co_return out_of_reach(failure);
      // What was acknowledged may not have been done.
      const auto unread = co_await hand_.look();
      if (unread) co_return out_of_reach(unread->text);
      if (hand_.users().users.count(before.user) + hand_.users().groups.count(before.user) > 0)
        tell_still_there(before.user);
    }
    co_return true;
  }

  void tell_still_there(const std::string& user) {
    end(Outcome::settled, fmt::format("its new keys open it; user {} is still there: vergeset rekey {} again",
                                      user, unit_.name));
  }

  bool was_announced(const std::string& about) const {
    return std::any_of(half_.announced.begin(), half_.announced.end(),
                       [&about](const auto& step) { return step.about == about; });
  }

  /// Open by keys from before the change. Of a user that it added nothing is to be left.
  snmp::Task<bool> go_back(const StoredKeys* made) {
    const std::string opener = hand_.way().name;
    std::string failure = co_await hand_.count_lock_on("so that nothing comes late");
    if (failure.empty() && made != nullptr) failure = co_await take_out(*made);
    if (!failure.empty()) co_return out_of_reach(failure);
    // What came late may have come between, and what was acknowledged not have been done.
    const Tried still = co_await open_surely(hand_, KeyWay(hand_.way()));
    if (still.kind != Tried::Kind::opens) co_return out_of_reach(still.why);
    const auto error = co_await hand_.look();
    if (error) co_return out_of_reach(error->text);
    if (made != nullptr && made->user != opener_user_ && !own_change_ &&
        hand_.users().users.count(made->user) + hand_.users().groups.count(made->user) > 0)
      co_return out_of_reach(
          fmt::format("user {} is still there though the unit acknowledged its removal", made->user));
    if (made != nullptr) {
      tools_.store.mark(made->id, StoredKeys::State::unused, 0);
      tools_.store.sync();
    }
    end(Outcome::restored, fmt::format("the change was broken off; it is open by {}", opener));
    co_return true;
  }

  snmp::Task<std::string> take_out(const StoredKeys& made) {
    const auto error = co_await hand_.look();
    if (error) co_return error->text;
    const auto local = snmp::local_keys(*hand_.way().principal, hand_.link().engine().id);
    if (local) opener_user_ = local->user;
    if (opener_user_ == made.user || own_change_) co_return std::string();
    const KeyPlan::Rows rows{hand_.users().users.count(made.user) > 0,
                             hand_.users().groups.count(made.user) > 0};
    std::string failure = co_await remove_user(hand_, made.engine_id, made.user, rows);
    co_return failure;
  }

  const World& world_;
  const fleet::Unit& unit_;
  const records::HalfDone& half_;
  int change_;
  const KeyTools& tools_;
  bool give_up_;
  KeyHand hand_;
  std::string opener_user_;
  bool own_change_ = false;  ///< a user gives itself other keys
};

}  // namespace

snmp::LocalKeys local_keys(const StoredKeys& keys) {
  snmp::LocalKeys local;
  local.user = keys.user;
  local.engine_id = keys.engine_id;
  local.auth = keys.auth;
  local.auth_key = keys.auth_key;
  local.privacy = keys.privacy;
  local.privacy_key = keys.privacy_key;
  return local;
}

Result<KeyWay> way_of(const StoredKeys& keys) {
  auto principal = snmp::principal_of(local_keys(keys));
  if (!principal) return Problem{fmt::format("the stored keys of {}: {}", keys.unit, principal.problem())};
  const char* const when = keys.state == StoredKeys::State::before ? "before" : "of";
  return KeyWay{fmt::format("the keys {} change {}", when, records::change_name(keys.change)),
                *std::move(principal), keys.id, keys.state == StoredKeys::State::opens, keys.user};
}

std::vector<Preview> rekey_preview(const World& world, const std::vector<KeyGoal>& goals,
                                   const KeyTools& tools, std::size_t at_once) {
  std::vector<Preview> previews(goals.size());
  const auto begin = [&](std::size_t i) {
    previews[i].unit = goals[i].unit;
    previews[i].result.unit = goals[i].unit->name;
    return preview_one(world, goals[i], tools, previews[i]);
  };
  world.network.run_each(goals.size(), begin, at_once);
  return previews;
}

ChangeResult rekey(const World& world, const std::vector<KeyGoal>& goals,
                   const std::vector<Preview>& previews, const KeyTools& tools, const ApplyOptions& options) {
  const CarryOut one = [&](std::size_t i, const SettleOptions& how,
                           records::Journal& journal) -> snmp::Task<UnitResult> {
    KeyGoal goal = goals[i];
    // What opened it when it was looked at is tried first: each attempt that fails counts at the unit.
    std::stable_partition(goal.ways.begin(), goal.ways.end(),
                          [&](const KeyWay& way) { return way.name == previews[i].opener; });
    Rekeying rekeying(world, goal, tools, journal, how);
    UnitResult result = co_await rekeying.run();
    co_return result;
  };
  return in_waves(world, previews, options, one);
}

snmp::Task<UnitResult> recover_keys(const World& world, const fleet::Unit& unit,
                                    const records::HalfDone& half, int change, records::Journal& journal,
                                    const KeyTools& tools, const RecoverOptions& options, bool& unfinished) {
  SettleOptions settle;
  settle.change = change;
  settle.watcher = options.watcher;
  settle.purpose = "recover change " + records::change_name(change);
  RecoveringKeys recovering(world, unit, half, journal, tools, settle, options.give_up);
  UnitResult result = co_await recovering.run(unfinished);
  co_return result;
}

}  // namespace vergeset::change
