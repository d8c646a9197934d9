#include "records/unfinished.h"

#include <algorithm>
#include <cstdlib>

#include "records/clock.h"
#include "records/journal.h"
#include "records/json_read.h"

namespace vergeset::records {

namespace {

/// A count under a name; 0 where there is none.
std::size_t count_in(const Json& event, const char* name) {
  return static_cast<std::size_t>(std::max<std::int64_t>(0, number_in(event, name).value_or(0)));
}

std::optional<Announced> set_in(const Json& one) {
  if (!one.is_object()) return std::nullopt;
  const auto oid = smi::Oid::parse(text_in(one, "oid"));
  const auto type = smi::type_named(text_in(one, "type"));
  if (!oid || !type) return std::nullopt;
  auto value = smi::from_exact_text(*type, text_in(one, "value"));
  if (!value) return std::nullopt;
  return Announced{text_in(one, "object"), *oid, *std::move(value)};
}

std::vector<Announced> sets_in(const Json& event, bool& incomplete) {
  std::vector<Announced> sets;
  const auto list = event.find("set");
  if (list == event.end() || !list->is_array()) {
    incomplete = true;
    return sets;
  }
  for (const Json& one : *list) {
    if (auto set = set_in(one)) {
      sets.push_back(*std::move(set));
    } else {
      incomplete = true;
    }
  }
  return sets;
}

AnnouncedStep step_in(const Json& event, bool& incomplete) {
  const std::string mode = text_in(event, "mode");
  return {text_in(event, "about"),
          mode == "standby"   ? AnnouncedStep::Mode::standby
          : mode == "operate" ? AnnouncedStep::Mode::operate
                              : AnnouncedStep::Mode::none,
          sets_in(event, incomplete)};
}

/// The units of a journal that were begun, as far as they came.
class Reading {
 public:
  void take(const Json& event) {
    const std::string kind = text_in(event, "event");
    const std::string name = text_in(event, "unit");
    if (name.empty()) return;
    if (kind == "begin unit") {
      drop(name);
      units_.push_back({});
      units_.back().unit = name;
      units_.back().steps = count_in(event, "steps");
      units_.back().giver = text_in(event, "giver");
      return;
    }
    if (kind == "outcome") return drop(name);
    const auto unit = at(name);
    if (unit == units_.end()) return;
    if (kind == "step") take_step(*unit, event);
    if (kind == "restore step") {
      for (const Announced& set : sets_in(event, unit->incomplete)) unit->set_back.push_back(set.oid);
    }
    if (kind == "restore" || kind == "restore step") unit->restoring = true;
    if (kind == "step" || kind == "restore step" || kind == "fence") note_time(*unit, event);
  }

  std::vector<HalfDone> units() && { return std::move(units_); }

 private:
  using Place = std::vector<HalfDone>::iterator;

  Place at(const std::string& name) {
    return std::find_if(units_.begin(), units_.end(),
                        [&](const HalfDone& unit) { return unit.unit == name; });
  }

  void drop(const std::string& name) {
    const Place unit = at(name);
    if (unit != units_.end()) units_.erase(unit);
  }

  /// A line whose sync failed stands there twice.
  static void take_step(HalfDone& unit, const Json& event) {
    const std::size_t number = count_in(event, "number");
    if (number == unit.announced.size() + 1) unit.announced.push_back(step_in(event, unit.incomplete));
    if (number == 0 || number > unit.announced.size()) unit.incomplete = true;
  }

  static void note_time(HalfDone& unit, const Json& event) {
    const std::int64_t at = milliseconds_of(text_in(event, "at")).value_or(0);
    unit.last_step_at = std::max(unit.last_step_at, at);
    const auto numbered = event.find("numbered");
    unit.unnumbered = unit.unnumbered || numbered == event.end() || *numbered != true;
    const std::string mode = text_in(event, "mode");
    if (mode.empty()) return;
    unit.mode_touched = true;
    if (mode == "standby" && unit.standby_at == 0) unit.standby_at = at;
  }

  std::vector<HalfDone> units_;
};

/// A look at the text, since most changes have ended and a change of a large fleet is a long file.
bool says_ended(const std::string& change_yaml) {
  return change_yaml.find("\nended: ") != std::string::npos;
}

}  // namespace

std::vector<Unfinished> unfinished_changes(const Disk& disk) {
  std::vector<Unfinished> all;
  for (const int number : change_numbers(disk)) {
    const auto text = disk.read(change_path(number, "change.yaml"));
    if (!text || says_ended(*text)) continue;
    auto change = find_change(disk, number);
    if (!change || !change->ended.empty()) continue;
    Reading reading;
    const JournalText journal = read_journal(disk.read(change_path(number, "journal.jsonl")).value_or(""));
    for (const Json& event : journal.events) {
      if (event.is_object()) reading.take(event);
    }
    all.push_back({*std::move(change), std::move(reading).units()});
  }
  return all;
}

}  // namespace vergeset::records
