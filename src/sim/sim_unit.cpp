#include "sim/sim_unit.h"

#include <algorithm>

#include "sim/access_names.h"

namespace vergeset::sim {

namespace {

/// Takes one off a count; true where there was one.
bool spend(int& left) {
  if (left <= 0) return false;
  --left;
  return true;
}

}  // namespace

bool SimUnit::takes_get() {
  ++counters.gets;
  return !spend(trouble.drop);
}

bool SimUnit::takes_set(std::size_t varbinds) {
  ++counters.sets;
  counters.set_varbinds += varbinds;
  return !spend(trouble.drop);
}

bool SimUnit::names(const std::string& wanted, const VarBind& bind) const {
  if (of_access(bind.oid)) return names_access(wanted, bind.oid);
  const std::string instance = store.model().name_of(bind.oid);
  return instance == wanted || instance.substr(0, instance.rfind('.')) == wanted;
}

bool SimUnit::contains(const std::string& wanted, const std::vector<VarBind>& set,
                       std::size_t* binding) const {
  const auto found =
      std::find_if(set.begin(), set.end(), [&](const VarBind& bind) { return names(wanted, bind); });
  *binding = static_cast<std::size_t>(found - set.begin());
  return found != set.end();
}

Verdict SimUnit::check_store(const std::vector<VarBind>& set, std::int64_t now) const {
  std::vector<VarBind> stored;
  std::vector<std::size_t> places;
  for (std::size_t place = 0; place < set.size(); ++place) {
    if (of_access(set[place].oid)) continue;
    stored.push_back(set[place]);
    places.push_back(place + 1);
  }
  if (stored.size() == set.size()) return store.check(set, now);
  Verdict verdict = stored.empty() ? Verdict{} : store.check(stored, now);
  if (!verdict.ok()) verdict.index = places[verdict.index - 1];
  return verdict;
}

Verdict SimUnit::check(const std::vector<VarBind>& set, std::int64_t now) {
  to_commit_.clear();
  std::size_t binding = 0;
  for (Trouble::Refusal& refusal : trouble.refusals)
    if ((refusal.object.empty() || contains(refusal.object, set, &binding)) && !spend(refusal.after) &&
        spend(refusal.left))
      return {refusal.status, refusal.object.empty() ? 1 : binding + 1};

  const Verdict verdict = check_store(set, now);
  if (!verdict.ok()) return verdict;

  std::vector<VarBind> rest = set;
  for (Trouble::Ignored& ignored : trouble.ignored) {
    if (!ignored.object.empty() && !contains(ignored.object, set, &binding)) continue;
    if (!spend(ignored.left)) continue;
    std::erase_if(rest,
                  [&](const VarBind& bind) { return ignored.object.empty() || names(ignored.object, bind); });
  }
  for (const Trouble::Clip& clip : trouble.clips)
    for (VarBind& bind : rest)
      if (names(clip.object, bind)) bind.value = clip.value;
  to_commit_ = std::move(rest);
  return {};
}

bool SimUnit::carries_out(const smi::Oid& variable) const {
  return std::any_of(to_commit_.begin(), to_commit_.end(),
                     [&](const VarBind& bind) { return bind.oid == variable; });
}

void SimUnit::commit(std::int64_t now) {
  std::erase_if(to_commit_, [](const VarBind& bind) { return of_access(bind.oid); });
  store.commit(to_commit_, now);
  if (store.take_reboot_request()) ask_reboot(false);
}

void SimUnit::undo() {
  store.undo();
  reboot_.reset();
}

void SimUnit::set_done(bool carried_out) {
  if (!carried_out) ++counters.sets_refused;
}

bool SimUnit::answers_set() {
  return !spend(trouble.drop_response);
}

std::optional<SimUnit::Reboot> SimUnit::take_reboot() {
  if (reboot_ && spend(trouble.forget_users)) reboot_->forgets_access = true;
  return std::exchange(reboot_, std::nullopt);
}

void SimUnit::reboot(const Reboot& how, std::int64_t now) {
  if (how.lose) store = at_start_;
  store.reboot(now);
  at_start_ = store;
  ++boots;
}

}  // namespace vergeset::sim
