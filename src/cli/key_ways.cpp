#include "cli/key_ways.h"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <map>
#include <set>
#include <utility>

#include "cli/live.h"
#include "records/change_record.h"
#include "snmp/key_change.h"
#include "snmp/local_keys.h"
#include "snmp/principals.h"

namespace vergeset::cli {

namespace {

using change::KeyGoal;
using change::KeyWay;
using records::StoredKeys;
using PrincipalPtr = std::shared_ptr<const snmp::Principal>;

/// Each attempt that fails brings a unit nearer to locking users out (common practice, no source).
constexpr std::size_t most_stored = 3;

constexpr std::size_t secret_length = 24;

/// Letters and digits, each as likely: what a person can type, of 142 bits.
std::string drawn_secret() {
  constexpr std::string_view alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789";
  std::string secret;
  while (secret.size() < secret_length) {
    const auto octet = static_cast<unsigned char>(snmp::random_octets(1).front());
    if (octet < 4 * alphabet.size()) secret += alphabet[octet % alphabet.size()];
  }
  return secret;
}

/// What a change of keys needs of the fleet's credentials: each secret is read once.
class Credentials {
 public:
  explicit Credentials(const fleet::Fleet& fleet) : fleet_(fleet) {}

  Result<const fleet::Credential*> find(const std::string& name) const {
    const auto found = fleet_.credentials.find(name);
    if (found == fleet_.credentials.end())
      return Problem{fmt::format("fleet.yaml has no credential {}", name)};
    return &found->second;
  }

  Result<PrincipalPtr> principal(const fleet::Credential& credential) {
    const auto known = principals_.find(credential.name);
    if (known != principals_.end()) return known->second;
    auto made = principal_of(fleet_, credential);
    if (!made) return Problem{made.problem()};
    return principals_.emplace(credential.name, *std::move(made)).first->second;
  }

 private:
  const fleet::Fleet& fleet_;
  std::map<std::string, PrincipalPtr> principals_;
};

class Goals {
 public:
  Goals(const fleet::Fleet& fleet, const KeyWishes& wishes, records::KeyStore& store, bool keep)
      : fleet_(fleet), wishes_(wishes), store_(store), keep_(keep), credentials_(fleet) {}

  Result<std::vector<KeyGoal>> of(const std::vector<const fleet::Unit*>& units) {
    std::vector<KeyGoal> goals;
    for (const fleet::Unit* unit : units) {
      auto goal = goal_of(*unit);
      if (!goal) return Problem{goal.problem()};
      goals.push_back(*std::move(goal));
    }
    return goals;
  }

 private:
  Result<KeyGoal> goal_of(const fleet::Unit& unit) {
    const std::string& name = wishes_.to.empty() ? unit.credential : wishes_.to;
    const auto credential = credentials_.find(name);
    if (!credential) return Problem{credential.problem()};
    const fleet::Credential& to = **credential;
    if (to.kind != fleet::Credential::Kind::user || to.auth == "none" || to.privacy == "none") {
      return Problem{
          fmt::format("credential {} is no user of SNMPv3 with authentication and privacy: there "
                      "are no keys of it that a unit could be given",
                      name)};
    }
    KeyGoal goal;
    goal.unit = &unit;
    goal.credential = name;
    goal.user = to.user;
    goal.auth = to.auth;
    goal.privacy = to.privacy;
    goal.renew = wishes_.from.empty();
    if (const auto problem = new_secrets(to, goal)) return *problem;
    if (const auto problem = ways_in(unit, to, goal)) return *problem;
    if (!wishes_.by.empty()) {
      if (const auto problem = by_another(unit, to, goal)) return *problem;
    } else if (!wishes_.keep_users) {
      users_to_remove(goal);
    }
    return goal;
  }

  std::optional<Problem> new_secrets(const fleet::Credential& to, KeyGoal& goal) {
    if (to.stored && wishes_.shared) {
      auto shared = shared_secrets(to);
      if (!shared) return Problem{shared.problem()};
      goal.given = *std::move(shared);
      return std::nullopt;
    }
    if (wishes_.shared) {
      return Problem{
          fmt::format("credential {} has secrets of its own, which all its units share; --shared is "
                      "for one with keys: store",
                      to.name)};
    }
    if (to.stored) return std::nullopt;
    auto given = credentials_.principal(to);
    if (!given) return Problem{given.problem()};
    goal.given = *std::move(given);
    return std::nullopt;
  }

  /// One pair for all units of this change, on stable storage before any of them gets keys made of it.
  Result<PrincipalPtr> shared_secrets(const fleet::Credential& to) {
    const auto known = shared_.find(to.name);
    if (known != shared_.end()) return known->second;
    std::string auth = drawn_secret();
    std::string privacy = drawn_secret();
    if (keep_) {
      store_.add_shared(smi::to_hex(snmp::random_octets(8)), to.name, to.user, auth, privacy);
      try {
        store_.sync();
      } catch (const records::DiskError& error) {
        return Problem{error.what()};
      }
    }
    auto made = snmp::usm_principal(to.user, to.auth, Secret(std::move(auth)), to.privacy,
                                    Secret(std::move(privacy)));
    if (!made) return Problem{made.problem()};
    return shared_.emplace(to.name, *std::move(made)).first->second;
  }

  /// As it should be, the user's stored ones, then what was named, or what the files say and the factory's,
  /// then stored ones of other users.
  std::optional<Problem> ways_in(const fleet::Unit& unit, const fleet::Credential& to, KeyGoal& goal) {
    if (!to.stored && goal.given) goal.ways.push_back(as(to, goal.given));
    const auto own = [&to](const StoredKeys& one) { return one.user == to.user; };
    if (auto problem = stored_ways(unit, own, goal.ways)) return problem;
    std::vector<std::string> from{wishes_.from};
    if (wishes_.from.empty()) {
      from = fleet_.factory_credentials;
      from.insert(from.begin(), unit.credential);
    }
    for (const std::string& name : from) {
      if (name == to.name) continue;
      const auto credential = credentials_.find(name);
      if (!credential) return Problem{credential.problem()};
      if ((*credential)->stored) {
        const auto of_credential = [&name](const StoredKeys& one) { return one.credential == name; };
        if (auto problem = stored_ways(unit, of_credential, goal.ways)) return problem;
        continue;
      }
      const auto principal = credentials_.principal(**credential);
      if (!principal) return Problem{principal.problem()};
      goal.ways.push_back(as(**credential, *principal));
    }
    // Last: a user that was given keys for something else may not be who others are made from.
    return stored_ways(
        unit, [&to](const StoredKeys& one) { return one.user != to.user; }, goal.ways);
  }

  static KeyWay as(const fleet::Credential& credential, PrincipalPtr principal) {
    return {"credential " + credential.name, std::move(principal), "", false, credential.user};
  }

  /// The ways in are then what tells the keys that the user has now.
  std::optional<Problem> by_another(const fleet::Unit& unit, const fleet::Credential& to, KeyGoal& goal) {
    const auto credential = credentials_.find(wishes_.by);
    if (!credential) return Problem{credential.problem()};
    const fleet::Credential& by = **credential;
    if (by.kind != fleet::Credential::Kind::user || by.user == to.user) {
      return Problem{
          fmt::format("credential {} is {}: --by names another user of SNMPv3, who gives user {} its keys",
                      by.name, by.user == to.user ? "that user itself" : "no user of SNMPv3", to.user)};
    }
    std::erase_if(goal.ways, [&to](const KeyWay& way) { return way.user != to.user; });
    if (goal.ways.empty()) {
      return Problem{
          fmt::format("no keys that user {} may have on {} now are known, and a change of them starts from "
                      "these (RFC 3414 KeyChange): name the credential with --from",
                      to.user, unit.name)};
    }
    goal.by_credential = by.name;
    if (by.stored)
      return stored_ways(
          unit, [&by](const StoredKeys& one) { return one.credential == by.name; }, goal.by);
    auto principal = credentials_.principal(by);
    if (!principal) return Problem{principal.problem()};
    goal.by.push_back(as(by, *std::move(principal)));
    return std::nullopt;
  }

  /// Those that are wanted, newest first.
  std::optional<Problem> stored_ways(const fleet::Unit& unit,
                                     const std::function<bool(const StoredKeys&)>& wanted,
                                     std::vector<KeyWay>& ways) {
    std::size_t count = 0;
    std::vector<StoredKeys> all = store_.of(unit.name);
    std::stable_partition(all.begin(), all.end(),
                          [](const StoredKeys& one) { return one.state == StoredKeys::State::opens; });
    std::set<std::string> told;  // users whose keys these are, since they have survived a start of the unit
    for (const StoredKeys& one : all) {
      if (!wanted(one) || one.state == StoredKeys::State::unused || told.count(one.user) > 0) continue;
      auto way = change::way_of(one);
      if (!way) return Problem{way.problem()};
      const bool known = std::any_of(ways.begin(), ways.end(),
                                     [&](const KeyWay& other_way) { return other_way.stored == one.id; });
      if (!known) ways.push_back(*std::move(way));
      if (++count == most_stored) break;
      if (one.survived) told.insert(one.user);
    }
    return std::nullopt;
  }

  void users_to_remove(KeyGoal& goal) const {
    for (const std::string& name : fleet_.factory_credentials) {
      const auto credential = fleet_.credentials.find(name);
      if (credential == fleet_.credentials.end()) continue;
      const std::string& user = credential->second.user;
      const bool known = std::find(goal.remove.begin(), goal.remove.end(), user) != goal.remove.end();
      if (!user.empty() && user != goal.user && !known) goal.remove.push_back(user);
    }
  }

  const fleet::Fleet& fleet_;
  const KeyWishes& wishes_;
  records::KeyStore& store_;
  bool keep_;
  Credentials credentials_;
  std::map<std::string, PrincipalPtr> shared_;
};

}  // namespace

Result<std::vector<KeyGoal>> key_goals(const fleet::Fleet& fleet,
                                       const std::vector<const fleet::Unit*>& units, const KeyWishes& wishes,
                                       records::KeyStore& store, bool keep) {
  return Goals(fleet, wishes, store, keep).of(units);
}

}  // namespace vergeset::cli
