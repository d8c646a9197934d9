#include "change/survey.h"

#include <algorithm>
#include <limits>
#include <optional>

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

Wanted::Columns columns_of(const fleet::DesiredTable& desired) {
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
  return expected.take(desired.rows.size());
}

/// A GETBULK walk over some columns of one table, from behind one row up to another: where each column
/// has got to.
class ColumnWalk {
 public:
  using Columns = std::vector<const schema::Object*>;
  static constexpr std::uint32_t no_end = std::numeric_limits<std::uint32_t>::max();

  /// From the top where `behind` is nothing.
  ColumnWalk(const Columns& columns, std::optional<std::uint32_t> behind, std::uint32_t last) : last_(last) {
    roots_.reserve(columns.size());
    at_.reserve(columns.size());
    for (const schema::Object* column : columns) {
      roots_.push_back(column->oid);
      at_.push_back(behind ? column->oid.child(*behind) : column->oid);
    }
  }

  bool done() const { return at_.empty(); }
  const std::vector<smi::Oid>& at() const { return at_; }
  /// Of these rows, how many the column that is furthest back has still to come to.
  std::size_t left(const std::vector<std::uint32_t>& rows) const {
    std::size_t most = 0;
    for (std::size_t column = 0; column < at_.size(); ++column) {
      const bool at_top = at_[column] == roots_[column];
      const auto next =
          at_top ? rows.begin() : std::upper_bound(rows.begin(), rows.end(), at_[column].back());
      most = std::max(most, static_cast<std::size_t>(rows.end() - next));
    }
    return most;
  }

  /// Takes an answer in (RFC 3416 4.2.3: repetition by repetition, each over all columns; cut where
  /// the message is full). False where the unit does not get on, which would never end.
  bool take(std::vector<snmp::VarBind> answer, AsFound& found) {
    const std::size_t width = at_.size();
    if (width == 0) return false;
    std::vector<bool> ended(width, false);
    std::vector<const smi::Oid*> at(width);
    std::vector<Instances::iterator> latest(width, found.instances.end());
    for (std::size_t column = 0; column < width; ++column) at[column] = &at_[column];
    bool moved = false;
    for (std::size_t i = 0; i < answer.size(); ++i) {
      const std::size_t column = i % width;
      auto& [oid, value] = answer[i];
      if (ended[column]) continue;
      if (value.absent() || !oid.within(roots_[column])) {
        ended[column] = true;
        moved = true;
      } else if (oid > *at[column]) {
        ended[column] = oid.back() >= last_ && oid.size() == roots_[column].size() + 1;
        latest[column] = add(std::move(oid), std::move(value), latest[column], found.instances);
        at[column] = &latest[column]->first;
        moved = true;
      }
    }
    go_on_from(at, ended);
    return moved;
  }

 private:
  using Instances = decltype(AsFound::instances);

  /// An instance follows the one before it in its column, which saves looking for its place.
  static Instances::iterator add(smi::Oid oid, smi::Value value, Instances::iterator before,
                                 Instances& instances) {
    const auto hint = before == instances.end() ? instances.lower_bound(oid) : std::next(before);
    return instances.insert_or_assign(hint, std::move(oid), std::move(value));
  }

  void go_on_from(const std::vector<const smi::Oid*>& at, const std::vector<bool>& ended) {
    for (std::size_t column = at.size(); column-- > 0;) {
      const auto place = static_cast<std::ptrdiff_t>(column);
      if (ended[column]) {
        at_.erase(at_.begin() + place);
        roots_.erase(roots_.begin() + place);
      } else if (at[column] != &at_[column]) {
        at_[column] = *at[column];
      }
    }
  }

  std::uint32_t last_;
  std::vector<smi::Oid> roots_;
  std::vector<smi::Oid> at_;
};

snmp::Error stuck() {
  return {snmp::Failure::bad_answer, 0, 0,
          "the unit answers a GETBULK with what was asked: its walk never ends"};
}

/// Beyond what any table of either standard holds: 255 rows of some twenty columns.
constexpr std::size_t most_in_a_table = 20000;

snmp::Error endless(const schema::Table& table) {
  return {snmp::Failure::bad_answer, 0, 0,
          "the unit gives more than " + std::to_string(most_in_a_table) + " values of " + table.name +
              ": its walk never ends"};
}

using Outcome = std::optional<snmp::Error>;

ColumnWalk walk_of(const Stretch& stretch) {
  return {stretch.columns, stretch.behind, stretch.rows.empty() ? ColumnWalk::no_end : stretch.rows.back()};
}

snmp::Task<Outcome> go_on(snmp::Link& link, const schema::Table& table, Stretch stretch, ColumnWalk walk,
                          AsFound& found) {
  const bool bounded = !stretch.rows.empty();
  std::size_t most = stretch.most();
  std::size_t next = bounded ? most : stretch.first_repetitions();
  std::size_t taken = 0;
  while (!walk.done()) {
    const std::size_t rows = std::min(next, bounded ? walk.left(stretch.rows) : most);
    snmp::Answer answer = co_await link.get_bulk(walk.at(), static_cast<int>(std::max<std::size_t>(rows, 1)));
    if (!answer) {
      if (answer.error().failure != snmp::Failure::too_big || most == 1) co_return answer.error();
      next = most = std::max<std::size_t>(rows / 2, 1);
      continue;
    }
    next = most;
    taken += answer.varbinds().size();
    if (!walk.take(answer.take(), found)) co_return stuck();
    if (taken > most_in_a_table) co_return endless(table);
  }
  co_return std::nullopt;
}

Outcome first_error(const std::vector<Outcome>& outcomes) {
  const auto found =
      std::find_if(outcomes.begin(), outcomes.end(), [](const Outcome& one) { return one.has_value(); });
  return found == outcomes.end() ? Outcome() : *found;
}

/// GETs some instances; halves them where the answer does not fit.
snmp::Task<Outcome> get_some(snmp::Link& link, std::vector<smi::Oid> instances, AsFound& found) {
  snmp::Answer answer = co_await link.get(instances);
  if (answer) {
    for (auto& [oid, value] : answer.take())
      found.instances.insert_or_assign(std::move(oid), std::move(value));
    co_return std::nullopt;
  }
  if (answer.error().failure != snmp::Failure::too_big || instances.size() < 2) co_return answer.error();
  const auto middle = instances.begin() + static_cast<std::ptrdiff_t>(instances.size() / 2);
  std::vector<smi::Oid> first(instances.begin(), middle);
  std::vector<smi::Oid> second(middle, instances.end());
  auto error = co_await get_some(link, std::move(first), found);
  if (!error) error = co_await get_some(link, std::move(second), found);
  co_return error;
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

/// Reads a stretch, and in its first message what goes beside it.
snmp::Task<Outcome> survey_stretch(snmp::Link& link, const schema::Table& table, Stretch stretch,
                                   AsFound& found) {
  ColumnWalk walk = walk_of(stretch);
  std::vector<smi::Oid> singles = std::move(stretch.beside.instances);
  if (!singles.empty()) {
    const auto repetitions = static_cast<int>(std::max<std::size_t>(stretch.first_repetitions(), 1));
    snmp::Answer answer =
        co_await link.get_bulk(before_each(singles, walk.at().size()), walk.at(), repetitions);
    const bool too_big = !answer && answer.error().failure == snmp::Failure::too_big;
    if (!answer && !too_big) co_return answer.error();
    if (too_big || answer.varbinds().size() < singles.size()) {
      Outcome outcome = co_await get_some(link, std::move(singles), found);
      if (outcome) co_return outcome;
    } else {
      std::vector<snmp::VarBind> rest = answer.take();
      take_singles(singles, rest, found);
      if (!rest.empty() && !walk.take(std::move(rest), found)) co_return stuck();
    }
  }
  Outcome outcome = co_await go_on(link, table, std::move(stretch), std::move(walk), found);
  co_return outcome;
}

snmp::Task<Outcome> side_by_side(std::vector<snmp::Task<Outcome>> parts) {
  const std::vector<Outcome> outcomes = co_await snmp::all(std::move(parts));
  co_return first_error(outcomes);
}

/// First which rows there are, and then all rows side by side: two round trips, however many rows. `later`
/// goes with the second.
snmp::Task<Outcome> survey_table(snmp::Link& link, const Wanted::Columns& wanted, Stretch first,
                                 Singles later, AsFound& found) {
  const schema::Table& table = *wanted.table;
  Outcome outcome = co_await survey_stretch(link, table, std::move(first), found);
  if (outcome || table.status == nullptr) co_return outcome;
  std::vector<Stretch> stretches = row_stretches(wanted, found.rows_of(table));
  std::vector<snmp::Task<Outcome>> parts;
  later = put_beside(later, stretches);
  if (!later.empty()) parts.push_back(get_some(link, std::move(later.instances), found));
  for (Stretch& stretch : stretches) parts.push_back(survey_stretch(link, table, std::move(stretch), found));
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
  for (const schema::Object* object : checks::health_objects(model)) scalars.add(object);
  for (const fleet::DesiredValue& value : unit.desired.values) {
    scalars.add(*value.object, contents_octets(value.value));
  }
  for (const fleet::DesiredTable& table : unit.desired.tables) {
    wanted.tables.push_back(columns_of(table));
    scalars.add(table.table->most);
  }
  scalars.give(wanted);
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

snmp::Task<Surveyed> survey(snmp::Link& link, Wanted wanted) {
  Surveyed surveyed;
  std::vector<snmp::Task<Outcome>> parts;
  FirstTrip trip = first_trip(wanted);
  // They stand in the plan. A unit that is silent keeps what it holds for long.
  wanted.instances = std::vector<smi::Oid>();
  wanted.octets = std::vector<std::size_t>();
  for (std::size_t i = 0; i < wanted.tables.size(); ++i) {
    parts.push_back(survey_table(link, wanted.tables[i], std::move(trip.tables[i]), std::move(trip.later[i]),
                                 surveyed.found));
  }
  for (Singles& message : trip.alone) {
    parts.push_back(get_some(link, std::move(message.instances), surveyed.found));
  }
  surveyed.error = co_await side_by_side(std::move(parts));
  surveyed.found.engine_id = link.engine().id;
  co_return surveyed;
}

}  // namespace vergeset::change
