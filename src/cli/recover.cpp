#include "change/recover.h"
#include "change/rekey.h"

#include <algorithm>
#include <memory>

#include "cli/change_run.h"
#include "cli/claims.h"
#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/interrupt.h"
#include "cli/kept.h"
#include "cli/key_place.h"
#include "cli/live.h"
#include "cli/load.h"
#include "cli/print.h"
#include "report/change_text.h"
#include "report/json.h"
#include "report/recover_text.h"
#include "snmp/key_change.h"

namespace vergeset::cli {

namespace {

using change::Recovered;
using records::Unfinished;

struct RecoverCommand {
  Common common;
  std::size_t at_once = 256;
  bool give_up = false;
};

/// A unit that was put back is what was asked for here; one that stays unfinished is not done.
Exit exit_of_recovered(const change::UnitResult& unit) {
  if (unit.records_failed) return Exit::trouble;
  switch (unit.outcome) {
    case change::Outcome::settled:
    case change::Outcome::restored:
    case change::Outcome::held:
    case change::Outcome::nothing_to_do:
      return Exit::done;
    case change::Outcome::no_answer:
      return Exit::no_answer;
    case change::Outcome::refused:
    case change::Outcome::needs_attention:
      break;
  }
  return Exit::trouble;
}

int exit_of(const std::vector<Recovered>& changes) {
  int status = interrupt_noted() ? Exit::interrupted : Exit::done;
  for (const Recovered& one : changes) {
    for (const change::UnitResult& unit : one.units) status = std::max<int>(status, exit_of_recovered(unit));
  }
  const auto stays = [](const Recovered& one) { return !one.ended; };
  // No unit says why, so it is the records that stopped.
  if (status == Exit::done && std::any_of(changes.begin(), changes.end(), stays)) status = Exit::internal;
  return status;
}

/// The units that the changes were at work on, as far as the fleet's files hold them.
std::vector<const fleet::Unit*> units_of(const std::vector<Unfinished>& changes, const fleet::Fleet& fleet) {
  std::vector<const fleet::Unit*> units;
  for (const Unfinished& one : changes) {
    for (const records::HalfDone& half : one.units) {
      const fleet::Unit* unit = fleet.unit(half.unit);
      if (unit != nullptr && std::find(units.begin(), units.end(), unit) == units.end())
        units.push_back(unit);
    }
  }
  return units;
}

void print_document(const std::vector<Recovered>& changes) {
  report::Json document = report::document("recover");
  document["changes"] = report::recovered_json(changes);
  print(report::dump(document));
}

/// The key store, where a change of keys is among those that have not ended.
class KeysAtHand {
 public:
  /// Empty, or why the store cannot be read.
  std::string take(const Live& live, const std::vector<Unfinished>& changes) {
    if (std::none_of(changes.begin(), changes.end(),
                     [](const Unfinished& one) { return one.change.kind == "rekey"; }))
      return {};
    auto place = key_place(live.world.fleet);
    if (!place) return place.problem();
    place_ = *std::move(place);
    auto store = open_keys(live.world.fleet, *place_);
    if (!store) return store.problem();
    store_.emplace(*std::move(store));
    tools_.emplace(change::KeyTools{*store_, snmp::random_octets});
    return {};
  }
  bool needed() const { return tools_.has_value(); }
  const change::KeyTools& tools() const { return *tools_; }

 private:
  std::unique_ptr<records::KeyPlace> place_;
  std::optional<records::KeyStore> store_;
  std::optional<change::KeyTools> tools_;
};

int recover(const RecoverCommand& options, Live& live, const std::vector<Unfinished>& changes) {
  const bool json = options.common.json;
  const report::Screen screen = json ? screen_aside() : screen_here();
  const auto say = [json](const std::string& text) { json ? print_aside(text) : print(text); };
  int width = 0;
  for (const Unfinished& one : changes) {
    for (const auto& half : one.units) width = std::max(width, report::text_width(half.unit));
  }
  change::RecoverOptions how;
  how.who = who_am_i();
  how.at_once = options.at_once;
  how.give_up = options.give_up;
  how.may_go_on = [] { return interrupt_noted() ? std::string("interrupted") : std::string(); };
  how.unit_ends = [&](const fleet::Unit&, const change::UnitResult& unit) {
    say(report::unit_end_text(screen, width, unit));
  };
  KeysAtHand keys;
  if (const std::string why = keys.take(live, changes); !why.empty()) return complain(why);
  if (keys.needed()) {
    how.keys = [&](const fleet::Unit& unit, const records::HalfDone& half, int number,
                   records::Journal& journal, bool& unfinished) {
      return change::recover_keys(live.world, unit, half, number, journal, keys.tools(), how, unfinished);
    };
  }
  const Interruptible interruptible(live);
  say(report::unfinished_text(screen, changes));
  const std::vector<Recovered> done = change::recover(live.world, how);
  say(report::recover_end_text(screen, done));
  if (json) print_document(done);
  return exit_of(done);
}

int nothing_to_recover(const RecoverCommand& options) {
  options.common.json ? print_document({}) : print("nothing to recover\n");
  return Exit::done;
}

int recover(const RecoverCommand& options) {
  const std::string records = options.common.records_folder();
  if (const std::string why = no_records(options.common); !why.empty()) return complain(why);
  if (!is_fleet(options.common)) return Exit::bad_input;
  const records::FolderDisk disk(records);
  if (records::change_numbers(disk).empty()) return nothing_to_recover(options);
  ChangeRun run;
  run.command = "recover";
  const auto lock = take_lock(run, records);
  if (!lock) return complain(lock.problem());
  const std::vector<Unfinished> changes = records::unfinished_changes(disk);
  if (changes.empty()) return nothing_to_recover(options);
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const auto live = go_live(*fleet, units_of(changes, *fleet), records);
  if (!live) return complain(live.problem());
  auto claims = claims_for("recover");
  if (!claims) return complain(claims.problem());
  (*live)->world.claim = *std::move(claims);
  return recover(options, **live, changes);
}

}  // namespace

Command recover_command() {
  const auto options = std::make_shared<RecoverCommand>();
  return {"recover",
          "Ends a change that was broken off, forward or back.",
          {{"",
            {{"--give-up", "", "units out of reach: on record as needing attention", &options->give_up},
             {"--at-once", "N", "units in hand at once (default: 256)", &options->at_once}}},
           section_of(options->common)},
          "vergeset recover --fleet inventories/larkmoor",
          [options] { return recover(*options); }};
}

}  // namespace vergeset::cli
