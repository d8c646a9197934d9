#include "change/survey.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "change/column_walk.h"
#include "change/read_plan.h"
#include "checks/health.h"
#include "snmp/all.h"

namespace vergeset::change {

namespace {

/// The most that the contents of a column's value may take in an answer, where the files do not say what
/// it should be.
std::size_t usual_contents(const schema::Object& column) {
  constexpr std::size_t usual_payload = 300;
  constexpr std::size_t number = 5;
  if (column.syntax.wire() != smi::Type::octet_string) return number;
  std::size_t most = 32;
  for (const smi::Range& size : column.syntax.ranges)
    most = std::max(most, static_cast<std::size_t>(size.high));
  return std::min(most, usual_payload);
}

/// Scalars in the order asked, each once, and what their values are expected to take.
class Scalars {
 public:
  void add(const schema::Object* object) {
    if (object != nullptr) add(*object, usual_contents(*object));
  }
  void add(const schema::Object& object, std::size_t contents) {
    const auto at = std::find(list_.begin(), list_.end(), &object);
    if (at == list_.end()) {
      list_.push_back(&object);
      contents_.push_back(contents);
    } else {
      contents_[static_cast<std::size_t>(at - list_.begin())] = contents;
    }
  }
  void give(Wanted& wanted) const {
    wanted.instances.reserve(list_.size());
    wanted.octets.reserve(list_.size());
    for (std::size_t i = 0; i < list_.size(); ++i) {
      wanted.instances.push_back(list_[i]->oid.child(0));
      wanted.octets.push_back(column_octets(list_[i]->oid, contents_[i]));
    }
  }

 private:
  std::vector<const schema::Object*> list_;
  std::vector<std::size_t> contents_;
};

void want(const schema::Object& column, std::size_t contents, Wanted::Columns& wanted) {
  wanted.columns.push_back(&column);
  wanted.octets.push_back(column_octets(column.oid, contents));
}

/// The columns of a table that a unit's files ask for or rows are matched by, and what their values take.
class ExpectedColumns {
 public:
  explicit ExpectedColumns(const schema::Table& table) : table_(table), contents_(table.columns.size()) {}

  void add(const schema::Object* column, std::size_t contents) {
    const auto at = std::find(table_.columns.begin(), table_.columns.end(), column);
    if (at == table_.columns.end()) return;
    std::optional<std::size_t>& most = contents_[static_cast<std::size_t>(at - table_.columns.begin())];
    most = std::max(most.value_or(0), contents);
  }

  Wanted::Columns take(std::size_t rows) const {
    Wanted::Columns wanted{&table_, {}, {}, rows};
    for (std::size_t i = 0; i < contents_.size(); ++i) {
      if (contents_[i]) want(*table_.columns[i], *contents_[i], wanted);
    }
    return wanted;
  }

 private:
  const schema::Table& table_;
  std::vector<std::optional<std::size_t>> contents_;
};

/// PSIDs and numbers, whatever sizes their objects allow.
std::size_t health_contents(const schema::Object& column) {
  constexpr std::size_t number = 4;
  return std::min(usual_contents(column), number);
}

Wanted::Columns columns_of(const fleet::DesiredTable& desired,
                           const std::vector<checks::HealthTable>& health) {
  ExpectedColumns expected(*desired.table);
  if (desired.table->status != nullptr) expected.add(desired.table->status, 1);
  for (const fleet::DesiredRow& row : desired.rows) {
    for (const fleet::DesiredValue& column : row.columns) {
      expected.add(column.object, contents_octets(column.value));
    }
    if (row.match_payload) {
      expected.add(row.match_payload->payload, usual_contents(*row.match_payload->payload));
    }
  }
  for (const checks::HealthTable& also : health) {
    if (also.table != desired.table) continue;
    for (const schema::Object* column : also.columns) expected.add(column, usual_contents(*column));
  }
  return expected.take(desired.rows.size());
}

/// What checks want to see of tables of which the files ask for nothing: one walk over all their columns.
void add_health(const std::vector<checks::HealthTable>& health, Wanted& wanted) {
  constexpr std::size_t usual_rows = 3;
  Wanted::Columns columns{nullptr, {}, {}, usual_rows, true};
  for (const checks::HealthTable& table : health) {
    const bool asked = std::ranges::any_of(
        wanted.tables, [&](const Wanted::Columns& other) { return other.table == table.table; });
    if (asked) continue;
    if (columns.table == nullptr) columns.table = table.table;
    for (const schema::Object* column : table.columns) want(*column, health_contents(*column), columns);
  }
  if (columns.table != nullptr) wanted.tables.push_back(std::move(columns));
}

void add_health_rows(const fleet::Unit& unit, Wanted& wanted) {
  const auto rows = checks::health_rows(unit);
  if (!rows) return;
  for (std::uint32_t row = 1; row <= rows->rows; ++row) {
    wanted.instances.push_back(rows->column->oid.child(row));
    wanted.octets.push_back(column_octets(rows->column->oid, usual_contents(*rows->column)));
  }
}

using Outcome = std::optional<snmp::Error>;

snmp::Error bad_answer(std::string text) {
  return {snmp::Failure::bad_answer, 0, 0, std::move(text)};
}

/// A survey under way: one link, and what was read over it so far. A unit of either standard whose tables are
/// all full takes a quarter of these requests and octets.
struct Reading {
  snmp::Link& link;
  AsFound& found;
  std::size_t requests = 0;
  std::size_t octets = 0;  ///< of values, with what holding each takes

  static constexpr std::size_t most_requests = 4000;
  static constexpr std::size_t most_octets = 8U << 20U;

  /// One request more, or why not.
  Outcome ask() {
    if (++requests <= most_requests) return std::nullopt;
    return bad_answer("the unit gives so little to a request that " + std::to_string(most_requests) +
                      " of them do not read it");
  }
  /// So much of a table, or beside tables, was answered; an error where that is more than a unit can hold.
  Outcome note(const std::vector<snmp::VarBind>& varbinds, const std::string& of) {
    constexpr std::size_t to_hold = 64;
    for (const snmp::VarBind& one : varbinds) octets += one.value.octets.size() + to_hold;
    if (octets <= most_octets) return std::nullopt;
    return bad_answer(fmt::format("{}: the unit gives more than {} MB of values", of, most_octets >> 20U));
  }
};

enum class Resort { none, ask_again, ask_less };

/// What may help where a request came to nothing. Asking for less, where the unit says tooBig, or says
/// nothing and still answers what takes few octets: then it is the size of its answer that the way to it does
/// not take.
snmp::Task<Resort> resort(Reading& reading, const snmp::Error& error) {
  if (error.failure == snmp::Failure::too_big) co_return Resort::ask_less;
  if (error.failure != snmp::Failure::no_answer) co_return Resort::none;
  const bool there = co_await reading.link.answers_little();
  if (!there) co_return Resort::none;
  co_return error.unsent ? Resort::ask_again : Resort::ask_less;
}

/// What there is to say where less cannot be asked for.
snmp::Error of_one(snmp::Error error, const std::string& what) {
  if (error.failure == snmp::Failure::no_answer) {
    error.text +=
        fmt::format(" for {} alone, though it answers others: the way to it may lose large datagrams", what);
  } else if (error.failure == snmp::Failure::too_big) {
    error.text += fmt::format(": {} alone does not fit a message that it can send", what);
  }
  return error;
}

ColumnWalk walk_of(const schema::Table& table, const Stretch& stretch) {
  const auto last = stretch.rows.empty() ? std::nullopt : std::optional(stretch.rows.back());
  return {table, stretch.columns, stretch.behind, last};
}

snmp::Task<Outcome> go_on(Reading& reading, std::vector<std::uint32_t> rows, std::size_t most,
                          std::size_t first, ColumnWalk walk) {
  std::size_t next = first;
  while (!walk.done()) {
    Outcome over = reading.ask();
    if (over) co_return over;
    const std::size_t wanted =
        std::max<std::size_t>(std::min(next, rows.empty() ? most : walk.left(rows)), 1);
    snmp::Answer answer = co_await reading.link.get_bulk(walk.at(), static_cast<int>(wanted));
    if (answer) {
      over = reading.note(answer.varbinds(), walk.table().name);
      if (over) co_return over;
      const auto wrong = walk.take(answer.take(), reading.found);
      if (wrong) co_return bad_answer(*wrong);
      next = most;
      continue;
    }
    snmp::Error error = answer.error();
    const Resort resorted = co_await resort(reading, error);
    if (resorted == Resort::none) co_return error;
    if (resorted == Resort::ask_again) continue;
    if (wanted > 1) {
      next = most = wanted / 2;
    } else if (walk.at().size() > 1) {
      ColumnWalk other = walk.split();
      Outcome outcome = co_await go_on(reading, rows, 1, 1, std::move(other));
      if (outcome) co_return outcome;
    } else {
      co_return of_one(std::move(error), "a row of " + walk.table().name);
    }
  }
  co_return std::nullopt;
}

Outcome first_error(const std::vector<Outcome>& outcomes) {
  const auto found =
      std::find_if(outcomes.begin(), outcomes.end(), [](const Outcome& one) { return one.has_value(); });
  return found == outcomes.end() ? Outcome() : *found;
}

/// GETs some instances; halves them where the answer does not fit.
snmp::Task<Outcome> get_some(Reading& reading, std::vector<smi::Oid> instances) {
  Outcome over = reading.ask();
  if (over) co_return over;
  snmp::Answer answer = co_await reading.link.get(instances);
  if (answer) {
    over = reading.note(answer.varbinds(), "single objects");
    if (over) co_return over;
    for (auto& [oid, value] : answer.take())
      reading.found.instances.insert_or_assign(std::move(oid), std::move(value));
    co_return std::nullopt;
  }
  snmp::Error error = answer.error();
  const Resort resorted = co_await resort(reading, error);
  if (resorted == Resort::none) co_return error;
  if (resorted == Resort::ask_again) {
    over = co_await get_some(reading, std::move(instances));
    co_return over;
  }
  if (instances.size() < 2) co_return of_one(std::move(error), "it");
  const auto middle = instances.begin() + static_cast<std::ptrdiff_t>(instances.size() / 2);
  std::vector<smi::Oid> first(instances.begin(), middle);
  std::vector<smi::Oid> second(middle, instances.end());
  Outcome outcome = co_await get_some(reading, std::move(first));
  if (!outcome) outcome = co_await get_some(reading, std::move(second));
  co_return outcome;
}

/// What a GETNEXT asks for to be answered with this instance.
smi::Oid before(const smi::Oid& instance) {
  return instance.back() == 0 ? instance.parent() : instance.parent().child(instance.back() - 1);
}

/// With room for as many columns behind them.
std::vector<smi::Oid> before_each(const std::vector<smi::Oid>& instances, std::size_t columns) {
  std::vector<smi::Oid> all;
  all.reserve(instances.size() + columns);
  for (const smi::Oid& instance : instances) all.push_back(before(instance));
  return all;
}

/// What was asked for with before_each() and is there; what comes in its stead says that it is not.
void take_singles(const std::vector<smi::Oid>& instances, std::vector<snmp::VarBind>& answer,
                  AsFound& found) {
  for (std::size_t i = 0; i < instances.size(); ++i) {
    const bool there = answer[i].oid == instances[i] && !answer[i].value.absent();
    smi::Value value =
        there ? std::move(answer[i].value) : smi::Value::of_number(smi::Type::no_such_instance, 0);
    found.instances.insert_or_assign(instances[i], std::move(value));
  }
  answer.erase(answer.begin(), answer.begin() + static_cast<std::ptrdiff_t>(instances.size()));
}

/// Reads in one message what goes beside a stretch, and as much of that as fits; or beside it alone, where
/// both are too much.
snmp::Task<Outcome> begin_beside(Reading& reading, std::vector<smi::Oid> singles, std::size_t first,
                                 ColumnWalk& walk) {
  Outcome over = reading.ask();
  if (over) co_return over;
  const auto repetitions = static_cast<int>(std::max<std::size_t>(first, 1));
  snmp::Answer answer =
      co_await reading.link.get_bulk(before_each(singles, walk.at().size()), walk.at(), repetitions);
  if (!answer) {
    const snmp::Error& error = answer.error();
    const Resort resorted = co_await resort(reading, error);
    if (resorted == Resort::none) co_return error;
  }
  if (!answer || answer.varbinds().size() < singles.size()) {
    Outcome outcome = co_await get_some(reading, std::move(singles));
    co_return outcome;
  }
  over = reading.note(answer.varbinds(), walk.table().name);
  if (over) co_return over;
  std::vector<snmp::VarBind> rest = answer.take();
  take_singles(singles, rest, reading.found);
  if (rest.empty()) co_return std::nullopt;
  const auto wrong = walk.take(std::move(rest), reading.found);
  if (wrong) co_return bad_answer(*wrong);
  co_return std::nullopt;
}

/// Reads a stretch, and in its first message what goes beside it.
snmp::Task<Outcome> survey_stretch(Reading& reading, const schema::Table& table, Stretch stretch) {
  ColumnWalk walk = walk_of(table, stretch);
  const std::size_t most = stretch.most();
  const std::size_t first = stretch.first_repetitions();
  if (!stretch.beside.instances.empty()) {
    Outcome outcome = co_await begin_beside(reading, std::move(stretch.beside.instances), first, walk);
    if (outcome) co_return outcome;
  }
  const std::size_t next = stretch.rows.empty() ? first : most;
  Outcome outcome = co_await go_on(reading, std::move(stretch.rows), most, next, std::move(walk));
  co_return outcome;
}

snmp::Task<Outcome> side_by_side(std::vector<snmp::Task<Outcome>> parts) {
  const std::vector<Outcome> outcomes = co_await snmp::all(std::move(parts));
  co_return first_error(outcomes);
}

/// First which rows there are, and then all rows side by side: two round trips, however many rows. `later`
/// goes with the second.
snmp::Task<Outcome> survey_table(Reading& reading, const Wanted::Columns& wanted, Stretch first,
                                 Singles later) {
  const schema::Table& table = *wanted.table;
  Outcome outcome = co_await survey_stretch(reading, table, std::move(first));
  if (outcome || is_read_at_once(wanted)) co_return outcome;
  std::vector<Stretch> stretches = row_stretches(wanted, reading.found.rows_of(table));
  std::vector<snmp::Task<Outcome>> parts;
  later = put_beside(later, stretches);
  if (!later.empty()) parts.push_back(get_some(reading, std::move(later.instances)));
  for (Stretch& stretch : stretches) parts.push_back(survey_stretch(reading, table, std::move(stretch)));
  outcome = co_await side_by_side(std::move(parts));
  co_return outcome;
}

}  // namespace

Wanted wanted_of(const fleet::Fleet& fleet, const fleet::Unit& unit) {
  Wanted wanted;
  Scalars scalars;
  const schema::Model& model = *unit.model;
  for (const schema::Object* object :
       {model.identity.present, model.identity.unit_id, model.identity.latitude, model.identity.longitude,
        model.identity.sentence}) {
    scalars.add(object);
  }
  for (const auto& [name, other] : fleet.schema->models) scalars.add(other->identity.present);
  for (const schema::Object* object : checks::health_objects(unit)) scalars.add(object);
  for (const fleet::DesiredValue& value : unit.desired.values) {
    scalars.add(*value.object, contents_octets(value.value));
  }
  const std::vector<checks::HealthTable> health = checks::health_tables(unit);
  for (const fleet::DesiredTable& table : unit.desired.tables) {
    wanted.tables.push_back(columns_of(table, health));
    scalars.add(table.table->most);
  }
  add_health(health, wanted);
  scalars.give(wanted);
  add_health_rows(unit, wanted);
  return wanted;
}

Wanted wanted_whole(const schema::Model& model) {
  Wanted wanted;
  for (const auto& [name, object] : model.objects) {
    const bool readable = object.access != schema::Access::not_accessible;
    if (object.table == nullptr && readable) wanted.instances.push_back(object.oid.child(0));
  }
  std::sort(wanted.instances.begin(), wanted.instances.end());
  for (const auto& [name, table] : model.tables) {
    Wanted::Columns columns{&table, {}, {}};
    for (const schema::Object* column : table.columns) {
      if (column->access != schema::Access::not_accessible) want(*column, usual_contents(*column), columns);
    }
    wanted.tables.push_back(std::move(columns));
  }
  return wanted;
}

snmp::Task<Surveyed> read(snmp::Link& link, std::vector<smi::Oid> instances) {
  Wanted wanted;
  wanted.instances = std::move(instances);
  Surveyed surveyed = co_await survey(link, std::move(wanted));
  co_return surveyed;
}

snmp::Task<void> read_details(snmp::Link& link, const schema::Model& model, AsFound& found) {
  // The second time of what the first one found of services beyond the fixed ones.
  for (int times = 0; times < 2; ++times) {
    std::vector<smi::Oid> instances = checks::health_details(as_read(model, found));
    std::erase_if(instances, [&](const smi::Oid& one) { return found.instances.contains(one); });
    if (instances.empty()) co_return;
    Surveyed more = co_await read(link, std::move(instances));
    found.instances.merge(more.found.instances);
  }
}

snmp::Task<Surveyed> survey(snmp::Link& link, Wanted wanted) {
  Surveyed surveyed;
  Reading reading{link, surveyed.found};
  std::vector<snmp::Task<Outcome>> parts;
  FirstTrip trip = first_trip(wanted);
  // They stand in the plan. A unit that is silent keeps what it holds for long.
  wanted.instances = std::vector<smi::Oid>();
  wanted.octets = std::vector<std::size_t>();
  for (std::size_t i = 0; i < wanted.tables.size(); ++i) {
    parts.push_back(
        survey_table(reading, wanted.tables[i], std::move(trip.tables[i]), std::move(trip.later[i])));
  }
  for (Singles& message : trip.alone) {
    parts.push_back(get_some(reading, std::move(message.instances)));
  }
  surveyed.error = co_await side_by_side(std::move(parts));
  surveyed.found.engine_id = link.engine().id;
  co_return surveyed;
}

}  // namespace vergeset::change
