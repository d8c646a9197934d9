#include "watch.h"

#include <fmt/format.h>

#include <algorithm>

#include "records/json_line.h"

namespace vergeset::faults {

namespace {

using change::Outcome;

constexpr std::uint32_t foreign_rows_from = 50;  ///< rows that nobody asked for, and that stay where kept

std::string to_text(const std::vector<snmp::VarBind>& set, const schema::Model& model) {
  std::string text;
  for (const snmp::VarBind& one : set)
    text += fmt::format("{}{} = {}", text.empty() ? "" : ", ", model.name_of(one.oid),
                        smi::exact_text(one.value).substr(0, 40));
  return text;
}

}  // namespace

Watch::Watch(const SmallFleet& fleet, FaultDisk& disk, Trace& trace)
    : fleet_(fleet), disk_(disk), trace_(trace) {
  for (const fleet::Unit& unit : fleet.fleet.units) {
    Seen seen;
    seen.unit = &unit;
    seen.objects = spoken_of(unit);
    seen.asks = asks_of(unit);
    units_.push_back(std::move(seen));
  }
}

const smi::Oid& Watch::serial() const {
  static const smi::Oid oid{1, 3, 6, 1, 6, 3, 1, 1, 6, 1, 0};  // snmpSetSerialNo.0 (RFC 3418)
  return oid;
}

void Watch::breaks(int promise, const std::string& text) {
  if (broken_) return;
  broken_ = Broken{promise, text};
  trace_.say("PROMISE {} IS BROKEN: {}", promise, text);
}

Cells Watch::now(std::size_t unit) const {
  const Seen& seen = units_[unit];
  return look(*seen.behind.store, seen.objects, start_ms + now_.count());
}

void Watch::change_begins(const std::vector<Behind>& behind, milliseconds now) {
  now_ = now;
  for (std::size_t i = 0; i < units_.size(); ++i) {
    Seen fresh;
    fresh.unit = units_[i].unit;
    fresh.objects = std::move(units_[i].objects);
    fresh.asks = std::move(units_[i].asks);
    fresh.behind = behind[i];
    fresh.another = behind[i].another;
    units_[i] = std::move(fresh);
    units_[i].found.push_back(this->now(i));
  }
}

std::vector<snmp::VarBind> Watch::without_serial(const std::vector<snmp::VarBind>& set) const {
  std::vector<snmp::VarBind> rest;
  for (const snmp::VarBind& one : set) {
    if (one.oid != serial()) rest.push_back(one);
  }
  return rest;
}

/// The last line on stable storage that announces a step of this unit.
std::optional<Watch::Line> Watch::last_line(const fleet::Unit& unit) const {
  const std::vector<std::string> changes = disk_.list("changes");
  const std::string step = "\"event\":\"step\",\"unit\":\"" + unit.name + "\"";
  const std::string back = "\"event\":\"restore step\",\"unit\":\"" + unit.name + "\"";
  for (auto change = changes.rbegin(); change != changes.rend(); ++change) {
    const std::string folder = "changes/" + *change;
    const std::string* const journal = disk_.durable(folder + "/journal.jsonl");
    if (journal == nullptr) continue;
    const std::size_t there = journal->rfind(step);
    const std::size_t here = journal->rfind(back);
    if (there == std::string::npos && here == std::string::npos) continue;
    const bool is_back = there == std::string::npos || (here != std::string::npos && here > there);
    const std::size_t at = is_back ? here : there;
    const std::size_t end = journal->find('\n', at);
    if (end == std::string::npos) return std::nullopt;
    return Line{journal->substr(at, end - at), folder, is_back};
  }
  return std::nullopt;
}

void Watch::check_journal(const Seen& seen, const std::vector<snmp::VarBind>& set,
                          const std::optional<Line>& line) {
  const std::string what = to_text(set, *seen.unit->model);
  if (!line) {
    if (!set.empty())
      breaks(3, fmt::format("{}: no step is in the journal on disk, and sent is {}", seen.unit->name, what));
    return;
  }
  for (const snmp::VarBind& one : set) {
    records::JsonLine wanted;
    wanted.text("oid", one.oid.str());
    wanted.text("type", smi::type_name(one.value.type)).text("value", smi::exact_text(one.value));
    const std::string members = wanted.str();
    if (line->text.find(members.substr(1, members.size() - 2)) != std::string::npos) continue;
    return breaks(
        3, fmt::format("{}: the last step in the journal on disk does not have {}", seen.unit->name, what));
  }
  if (disk_.durable(line->change + "/" + seen.unit->name + ".snapshot.yaml") == nullptr)
    breaks(3, fmt::format("{}: sent is {}, and its snapshot is not on disk", seen.unit->name, what));
}

bool Watch::known_value(const Seen& seen, const schema::Object& object, const smi::Value& value) const {
  for (const Ask& ask : seen.asks) {
    if (ask.value != nullptr && ask.value->object == &object && same(object, &ask.value->value, &value))
      return true;
    if (ask.row == nullptr) continue;
    for (const fleet::DesiredValue& column : ask.row->columns) {
      if (column.object == &object && same(object, &column.value, &value)) return true;
    }
  }
  for (const std::vector<Cells>* states : {&seen.found, &seen.window}) {
    for (const Cells& cells : *states) {
      for (const Cells::Cell& cell : cells.all) {
        if (cell.object == &object && same(object, &cell.value, &value)) return true;
      }
    }
  }
  return false;
}

void Watch::check_asked_for(const Seen& seen, const std::vector<snmp::VarBind>& set) {
  const schema::Model& model = *seen.unit->model;
  for (const snmp::VarBind& one : set) {
    const schema::Object* const object = model.object_at(one.oid);
    const std::string name = model.name_of(one.oid);
    if (object == nullptr ||
        std::find(seen.objects.begin(), seen.objects.end(), object) == seen.objects.end())
      return breaks(4, fmt::format("{}: nobody asked for {}, and it was sent", seen.unit->name, name));
    const schema::Table* const table = object->table;
    if (table != nullptr) {
      const auto asked = std::find_if(seen.unit->desired.tables.begin(), seen.unit->desired.tables.end(),
                                      [&](const fleet::DesiredTable& d) { return d.table == table; });
      const bool stays = (*asked).others != fleet::Others::remove;
      if (stays && one.oid.back() >= foreign_rows_from)
        return breaks(4,
                      fmt::format("{}: the row of {} is to be kept, and it was sent", seen.unit->name, name));
      if (object == table->status) continue;
    }
    const bool mode = model.mode && model.mode->asked == object;
    if (!mode && !known_value(seen, *object, one.value))
      return breaks(4, fmt::format("{}: {} was sent as {}, neither as desired nor as found", seen.unit->name,
                                   name, smi::exact_text(one.value)));
  }
}

void Watch::check_order(Seen& seen, const std::vector<snmp::VarBind>& set, bool back) {
  const std::string& name = seen.unit->name;
  const std::string what = to_text(set, *seen.unit->model);
  if (!seen.read_since && !set.empty() && set == seen.last_set)
    breaks(5, fmt::format("{}: {} was sent twice and the unit not read between", name, what));
  if (seen.unanswered && !seen.read_since && !set.empty())
    breaks(5, fmt::format("{}: {} was sent after a SET without an answer and the unit not read between", name,
                          what));
  if (set.empty() || back) return;
  check_lost(seen, set);
  // Of a SET that the network has doubled, one copy may have been refused and the other carried out.
  if (seen.refused && !seen.carried && set != seen.last_set)
    breaks(4, fmt::format("{}: after a step that was refused {} was sent", name, what));
  if (seen.off_air_since && !seen.behind.store->operating(start_ms + now_.count())) {
    const bool any = std::any_of(set.begin(), set.end(), [&](const snmp::VarBind& one) {
      const schema::Object* const object = seen.unit->model->object_at(one.oid);
      if (object == nullptr || object == seen.unit->model->mode->asked) return true;
      const schema::Table* const table = object->table;
      return seen.unit->desired.traits_of(*object).needs_standby ||
             (table != nullptr && seen.unit->desired.needs_standby(*table));
    });
    if (!any) breaks(6, fmt::format("{}: {} needs no standby and was set in it", name, what));
  }
}

void Watch::note_back(Seen& seen, const std::vector<snmp::VarBind>& set) const {
  if (!seen.back_since) seen.back_since = now_;
  for (const snmp::VarBind& one : set) {
    const schema::Object* const object = seen.unit->model->object_at(one.oid);
    if (object == nullptr) continue;
    seen.tried_back.insert({object, one.oid.back()});
    if (object->table != nullptr && object->table->rows_are_made())
      seen.tried_back_rows.insert({object->table, one.oid.back()});
  }
}

/// Whether operate has been asked for since there was last a reason to. What cuts us off comes after it.
void Watch::note_asked(Seen& seen, const std::vector<snmp::VarBind>& set, bool back) {
  const auto& mode = seen.unit->model->mode;
  if (!mode) return;
  const schema::Object* const object = seen.unit->model->object_at(set.front().oid);
  if (object == mode->asked) {
    seen.asked_operate_last = set.front().value.number == mode->operate;
  } else if (back && object != nullptr && !seen.unit->desired.traits_of(*object).cuts_off) {
    seen.asked_operate_last = false;
  }
}

/// A SET that got no answer is no step to build on unless it was carried out whole.
void Watch::check_lost(Seen& seen, const std::vector<snmp::VarBind>& set) {
  const bool again = std::all_of(set.begin(), set.end(), [&](const snmp::VarBind& one) {
    return std::find(seen.lost_set.begin(), seen.lost_set.end(), one) != seen.lost_set.end();
  });
  // Whole again where a half of it was sent without the number that the unit had refused.
  const bool whole = std::all_of(seen.lost_set.begin(), seen.lost_set.end(), [&](const snmp::VarBind& one) {
    return std::find(set.begin(), set.end(), one) != set.end();
  });
  if (seen.lost_set.empty() || again || whole) return;  // the same, or half of it
  for (const snmp::VarBind& one : seen.lost_set) {
    const schema::Object* const object = seen.unit->model->object_at(one.oid);
    if (object == nullptr || object == seen.unit->model->mode->asked) continue;
    const smi::Value is = seen.behind.store->get(one.oid, start_ms + now_.count());
    bool done = !is.absent() && same(*object, &is, &one.value);
    if (object->syntax.form == smi::Form::row_status && one.value.number == 6) done = is.absent();
    if (object->syntax.form == smi::Form::row_status && one.value.number == 5) done = !is.absent();
    if (!done)
      breaks(4, fmt::format("{}: {} was sent though {} before it, which got no answer, was not carried out",
                            seen.unit->name, to_text(set, *seen.unit->model),
                            seen.unit->model->name_of(one.oid)));
  }
  seen.lost_set.clear();
}

void Watch::set_leaves(std::size_t unit, const std::vector<snmp::VarBind>& whole) {
  ++sets_;
  if (of_keys) return of_keys(unit, whole);
  Seen& seen = units_[unit];
  const std::vector<snmp::VarBind> set = without_serial(whole);
  const std::optional<Line> line = last_line(*seen.unit);
  if (trace_.on) trace_.say("{} SET {}", seen.unit->name, to_text(whole, *seen.unit->model));
  check_journal(seen, set, line);
  check_asked_for(seen, set);
  check_order(seen, set, line && line->back);
  if (!set.empty()) {
    note_asked(seen, set, line && line->back);
    if (line && line->back) note_back(seen, set);
    if (set != seen.last_set) seen.carried = false;
    seen.last_set = set;
    seen.read_since = false;
    seen.unanswered = seen.refused = false;
  }
}

void Watch::set_ends(std::size_t unit, const snmp::Answer& answer, const std::vector<snmp::VarBind>& set) {
  Seen& seen = units_[unit];
  trace_.say("{} SET ends: {}", seen.unit->name, answer ? "noError" : answer.error().text);
  if (of_keys) return;
  const bool fence = without_serial(set).empty();
  if (answer) {
    seen.answers = true;
    if (!fence) seen.lost_set.clear();
    return;
  }
  const snmp::Error& error = answer.error();
  seen.answers = error.status != 0;
  if (fence) return;
  seen.unanswered = error.failure == snmp::Failure::no_answer || error.failure == snmp::Failure::bad_answer;
  seen.unanswered_ever |= seen.unanswered;
  if (seen.unanswered) seen.lost_set = without_serial(set);
  const bool of_serial = error.index > 0 && error.index <= set.size() && set[error.index - 1].oid == serial();
  if (seen.back_since) (error.status != 0 ? seen.back_refused : seen.back_unanswered) = true;
  seen.refused = error.status != 0 && error.failure != snmp::Failure::too_big && !of_serial;
}

void Watch::read_ends(std::size_t unit, bool answered) {
  if (of_keys) return;
  Seen& seen = units_[unit];
  seen.answers = answered;
  if (!answered && seen.back_since) seen.back_unanswered = true;
  if (!answered) return;
  seen.read_since = true;
  seen.last_read = seen.answered_at;
}

void Watch::before_ours(std::size_t unit) {
  Seen& seen = units_[unit];
  if (!seen.ours) seen.found.push_back(now(unit));
  if (seen.ended) seen.before_ended = now(unit);
}

/// Found operating and not on its way to another mode: off air it is because of us.
bool Watch::was_on_air(const Seen& seen) const {
  const schema::ModeRule& rule = *seen.unit->model->mode;
  // A unit that starts anew may come back in another mode than the one that our reading found.
  return std::all_of(seen.found.begin(), seen.found.end(), [&](const Cells& found) {
    const smi::Value* const asked = found.find(rule.asked, 0);
    return found.operating && asked != nullptr && asked->number == rule.operate;
  });
}

/// Whether we have put the unit off air, and since when.
void Watch::note_mode(Seen& seen, const std::vector<sim::VarBind>& carried) {
  const auto& mode = seen.unit->model->mode;
  if (!mode) return;
  for (const sim::VarBind& one : carried) {
    if (one.oid != mode->asked->oid.child(0)) continue;
    const std::int64_t now = start_ms + now_.count();
    if (one.value.number == mode->operate) {
      seen.operate_due = now_ + milliseconds(seen.behind.store->nature().transition_ms);
    } else if (was_on_air(seen) && (!seen.off_air_since || seen.behind.store->operating(now))) {
      seen.off_air_since = now_;
      seen.operate_due.reset();
    }
  }
}

void Watch::after_ours(std::size_t unit, const std::vector<sim::VarBind>& carried, milliseconds read_before) {
  Seen& seen = units_[unit];
  bool any = false;
  for (const sim::VarBind& one : carried) {
    if (one.oid == serial()) continue;
    any = true;
    const schema::Object* const object = seen.unit->model->object_at(one.oid);
    if (object == nullptr) continue;
    seen.touched.insert({object, one.oid.back()});
    if (object->table != nullptr) seen.touched_rows.insert({object->table, one.oid.back()});
  }
  if (!any) return;
  seen.carried = true;
  if (seen.another) breaks(4, fmt::format("a SET for {} was carried out by another unit", seen.unit->name));
  if (seen.behind.offers_serial && seen.counts && !seen.another_engine && seen.hand_at > read_before)
    breaks(9, fmt::format("{}: another hand has SET since we read the unit, and our SET was carried out",
                          seen.unit->name));
  if (seen.before_ended) {
    const Cells now_cells = now(unit);
    for (const Cells::Cell& cell : now_cells.all) {
      const smi::Value* const before = seen.before_ended->find(cell.object, cell.index);
      if (same(*cell.object, before, &cell.value)) continue;
      if (seen.ended_open && cell.object != seen.unit->model->mode->asked) continue;
      breaks(1, fmt::format("{}: its outcome was told, and then a SET of ours changed {}.{}", seen.unit->name,
                            cell.object->name, cell.index));
    }
    if (!seen.ended_open && now_cells.all.size() != seen.before_ended->all.size())
      breaks(1,
             fmt::format("{}: its outcome was told, and then a SET of ours removed a row", seen.unit->name));
    return;
  }
  seen.ours = true;
  seen.window.clear();
  note_mode(seen, carried);
}

void Watch::before_other(std::size_t unit) {
  Seen& seen = units_[unit];
  seen.lost_set.clear();
  seen.others = true;
  (seen.ours ? seen.window : seen.found).push_back(now(unit));
}

std::optional<std::string> Watch::not_as_desired(const Seen& seen, bool touched_alone) const {
  for (const Ask& ask : seen.asks) {
    // Of rows it cannot be told which of them were touched: they count where nobody else was at them.
    const bool touched = ask.value != nullptr ? seen.touched.contains({ask.value->object, 0}) : !seen.others;
    if (touched_alone && !touched) continue;
    // A mode that another hand has asked for may read as before until it is reached.
    if (ask.value != nullptr && ask.value->object == seen.unit->model->mode->asked &&
        seen.hand_at.count() >= 0)
      continue;
    const auto holds = [&](const Cells& cells) { return ask.holds(*seen.unit, cells); };
    if (std::none_of(seen.window.begin(), seen.window.end(), holds)) return ask.name;
  }
  return std::nullopt;
}

std::optional<std::string> Watch::missing(std::size_t unit) const {
  const Cells cells = now(unit);
  for (const Ask& ask : units_[unit].asks) {
    if (!ask.holds(*units_[unit].unit, cells)) return ask.name;
  }
  return std::nullopt;
}

std::optional<std::string> Watch::not_as_found(const Seen& seen, bool touched_alone) const {
  const auto check = [&](const Cells::Cell& cell) -> std::optional<std::string> {
    const auto row = std::pair(cell.object->table, cell.index);
    if (touched_alone && !seen.touched.contains({cell.object, cell.index}) &&
        !seen.touched_rows.contains(row))
      return std::nullopt;
    // Where another hand has been at the mode too, as found is what it made of it.
    if (cell.object == seen.unit->model->mode->asked && seen.hand_at.count() >= 0) return std::nullopt;
    bool any_found = false;
    for (const Cells& found : seen.found) any_found |= found.find(cell.object, cell.index) != nullptr;
    // What another hand has added is no more ours than it was found.
    if (!any_found && !seen.touched_rows.contains(row)) return std::nullopt;
    for (const Cells& found : seen.found) {
      for (const Cells& now : seen.window) {
        if (same(*cell.object, found.find(cell.object, cell.index), now.find(cell.object, cell.index)))
          return std::nullopt;
      }
    }
    return fmt::format("{}.{}", cell.object->name, cell.index);
  };
  for (const std::vector<Cells>* states : {&seen.found, &seen.window}) {
    for (const Cells& cells : *states) {
      for (const Cells::Cell& cell : cells.all) {
        if (auto other = check(cell)) return other;
      }
    }
  }
  const auto operating = [](const Cells& cells) { return cells.operating; };
  if (std::all_of(seen.found.begin(), seen.found.end(), operating) &&
      std::none_of(seen.window.begin(), seen.window.end(), operating) && seen.hand_at.count() < 0 &&
      (!touched_alone || seen.off_air_since))
    return "the mode";
  return std::nullopt;
}

void Watch::judge(const Seen& seen, const change::UnitResult& result) {
  const std::string said =
      fmt::format("{} is told as {}{}", seen.unit->name, change::outcome_name(result.outcome),
                  result.what.empty() ? "" : " (" + result.what + ")");
  switch (result.outcome) {
    case Outcome::settled:
    case Outcome::nothing_to_do:
      // Recovery finishes what the change was about, and knows no files beside.
      if (const auto other =
              not_as_desired(seen, result.what.find("finished by vergeset recover") != std::string::npos))
        breaks(1, fmt::format("{}, and {} is not as desired", said, *other));
      return;
    case Outcome::restored:
      if (const auto other = not_as_found(seen, true); seen.ours && other)
        breaks(1, fmt::format("{}, and {} is not as found", said, *other));
      return;
    case Outcome::refused:
    case Outcome::no_answer:
    case Outcome::held:
      if (const auto other = not_as_found(seen, true); seen.ours && other)
        breaks(1, fmt::format("{}, and {} has what we SET", said, *other));
      return;
    case Outcome::needs_attention:
      if (result.what.find("vergeset ") == std::string::npos)
        breaks(1, fmt::format("{}, and it does not say what to do", said));
      if (mild_) breaks(10, said);
      judge_effort(seen, said);
      return;
  }
}

/// One step back that is refused must not keep the rest from being put back, on a unit that answers all
/// along.
void Watch::judge_effort(const Seen& seen, const std::string& said) {
  constexpr milliseconds soon{60000};  // what goes on for long may be given up
  if (!seen.back_refused || seen.back_unanswered || seen.others || seen.another_engine || disk_.failed() ||
      died_)
    return;
  if (now_ - *seen.back_since > soon) return;
  for (const auto& [object, index] : seen.touched) {
    if (object == seen.unit->model->mode->asked || seen.tried_back.contains({object, index})) continue;
    if (seen.tried_back_rows.contains({object->table, index})) continue;
    const smi::Value* const is = seen.window.back().find(object, index);
    const bool as_found = std::any_of(seen.found.begin(), seen.found.end(), [&](const Cells& found) {
      return same(*object, found.find(object, index), is);
    });
    if (!as_found)
      breaks(1, fmt::format("{}, and putting {}.{} back was not tried", said, object->name, index));
  }
}

void Watch::judge_standby(Seen& seen, const change::UnitResult& result) {
  if (!seen.off_air_since) return;
  const auto& mode = *seen.unit->model->mode;
  const bool operating =
      std::any_of(seen.window.begin(), seen.window.end(), [](const Cells& cells) { return cells.operating; });
  const milliseconds back = operating && seen.operate_due ? std::min(*seen.operate_due, now_) : now_;
  seen.off_air += back - *seen.off_air_since;
  if (const milliseconds bound = off_air_bound(static_cast<std::size_t>(&seen - units_.data()));
      seen.off_air > bound && !died_)
    breaks(6, fmt::format("{} was off air for {} s; at most {} s were promised", seen.unit->name,
                          seen.off_air.count() / 1000, bound.count() / 1000));
  if (operating) return;
  const bool wanted = std::any_of(seen.asks.begin(), seen.asks.end(), [&](const Ask& ask) {
    return ask.value != nullptr && ask.value->object == mode.asked && ask.value->value.number == mode.standby;
  });
  if (wanted) return;
  const std::string said =
      fmt::format("{} is told as {}{}", seen.unit->name, change::outcome_name(result.outcome),
                  result.what.empty() ? "" : " (" + result.what + ")");
  const bool tells =
      result.outcome == Outcome::needs_attention &&
      (result.what.find("standby") != std::string::npos || result.what.find("mode") != std::string::npos ||
       result.what.find("fault") != std::string::npos);
  if (!tells) breaks(2, fmt::format("{}, and it is off air because of us", said));
  const bool within_reach = seen.answers && !seen.another_engine;
  if (within_reach && !seen.asked_operate_last && !disk_.failed())
    breaks(2, fmt::format("{}; it answers, and was not asked to operate last", said));
}

void Watch::unit_ends(std::size_t unit, const change::UnitResult& result) {
  Seen& seen = units_[unit];
  if (seen.ended) return;
  if (trace_.on)
    trace_.say("{} ends: {} {}", seen.unit->name, change::outcome_name(result.outcome), result.what);
  seen.window.push_back(now(unit));
  if (!seen.ours) seen.window.insert(seen.window.end(), seen.found.begin(), seen.found.end());
  judge(seen, result);
  judge_standby(seen, result);
  seen.ended = true;
  seen.ended_open = result.outcome == Outcome::needs_attention;
}

void Watch::unit_stays_open(std::size_t unit, const change::UnitResult& result) {
  const Seen& seen = units_[unit];
  if (trace_.on) trace_.say("{} stays unfinished: {}", seen.unit->name, result.what);
  const bool tells = result.what.find("unfinished") != std::string::npos ||
                     result.what.find("vergeset recover") != std::string::npos;
  if (!tells && seen.ours)
    breaks(8, fmt::format("{} is not on record as ended, and what is told ({}) does not say so",
                          seen.unit->name, result.what));
}

std::size_t Watch::lines_of(const fleet::Unit& unit) const {
  std::size_t count = 0;
  for (const std::string& change : disk_.list("changes")) {
    const auto journal = disk_.read("changes/" + change + "/journal.jsonl");
    if (!journal) continue;
    for (const char* event : {"step", "restore step"}) {
      const std::string wanted = fmt::format("\"event\":\"{}\",\"unit\":\"{}\"", event, unit.name);
      for (auto at = journal->find(wanted); at != std::string::npos; at = journal->find(wanted, at + 1))
        ++count;
    }
  }
  return count;
}

milliseconds Watch::off_air_bound(std::size_t unit) const {
  const fleet::Fleet& fleet = fleet_.fleet;
  double ladder = 0;
  double wait = fleet.timeout_ms;
  for (int tries = 0; tries <= fleet.retries; ++tries, wait *= 1.5) ladder += wait;
  const double set = fleet.timeout_ms * 2.5;
  const auto steps = static_cast<double>(lines_of(*units_[unit].unit));
  constexpr double slow_disk = 3 * 4000;
  double bound =
      6 * (fleet.mode_wait_s * 1000.0 + ladder) + steps * (3 * (set + ladder) + slow_disk) + 15 * ladder;
  const bool numbered = units_[unit].behind.offers_serial && units_[unit].counts;
  if (units_[unit].unanswered_ever && !numbered) bound += 2 * 150000;
  return milliseconds(static_cast<std::int64_t>(bound));
}

}  // namespace vergeset::faults
