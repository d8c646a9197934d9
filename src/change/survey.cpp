#include "change/survey.h"

#include <algorithm>
#include <set>

#include "change/message_size.h"
#include "checks/health.h"

namespace vergeset::change {

namespace {

/// Instances in the order asked, each once.
class Instances {
 public:
  void add(const schema::Object* object) {
    if (object != nullptr) add(object->oid.child(0));
  }
  void add(const smi::Oid& oid) {
    if (seen_.insert(oid).second) list_.push_back(oid);
  }
  std::vector<smi::Oid> take() { return std::move(list_); }

 private:
  std::set<smi::Oid> seen_;
  std::vector<smi::Oid> list_;
};

Wanted::Columns columns_of(const fleet::DesiredTable& desired) {
  std::set<const schema::Object*> columns;
  if (desired.table->status != nullptr) columns.insert(desired.table->status);
  for (const fleet::DesiredRow& row : desired.rows) {
    for (const fleet::DesiredValue& column : row.columns) columns.insert(column.object);
    if (row.match_payload) columns.insert(row.match_payload->payload);
  }
  Wanted::Columns wanted{desired.table, {}};
  for (const schema::Object* column : desired.table->columns) {
    if (columns.count(column) != 0) wanted.columns.push_back(column);
  }
  return wanted;
}

/// A GETBULK walk over some columns of one table: where each column has got to.
class ColumnWalk {
 public:
  explicit ColumnWalk(const Wanted::Columns& wanted) {
    for (const schema::Object* column : wanted.columns) {
      roots_.push_back(column->oid);
      at_.push_back(column->oid);
    }
  }

  bool done() const { return at_.empty(); }
  const std::vector<smi::Oid>& at() const { return at_; }

  /// Takes an answer in (RFC 3416 4.2.3: repetition by repetition, each over all columns; cut where
  /// the message is full). False where the unit does not get on, which would never end.
  bool take(const std::vector<snmp::VarBind>& answer, AsFound& found) {
    const std::size_t width = at_.size();
    std::vector<bool> ended(width, false);
    bool moved = false;
    for (std::size_t i = 0; i < answer.size(); ++i) {
      const std::size_t column = i % width;
      const auto& [oid, value] = answer[i];
      if (ended[column]) continue;
      if (value.absent() || !oid.within(roots_[column])) {
        ended[column] = true;
        moved = true;
      } else if (oid > at_[column]) {
        found.instances[oid] = value;
        at_[column] = oid;
        moved = true;
      }
    }
    for (std::size_t column = width; column-- > 0;) {
      if (!ended[column]) continue;
      const auto place = static_cast<std::ptrdiff_t>(column);
      at_.erase(at_.begin() + place);
      roots_.erase(roots_.begin() + place);
    }
    return moved;
  }

 private:
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

/// The most a column's value may take in an answer, for sizing a GETBULK.
std::size_t octets_of(const schema::Object& column) {
  constexpr std::size_t usual_payload = 300;
  std::size_t most = 8;
  if (column.syntax.wire() == smi::Type::octet_string) {
    most = 32;
    for (const smi::Range& size : column.syntax.ranges)
      most = std::max(most, static_cast<std::size_t>(size.high));
  }
  return std::min(most, usual_payload) + varbind_octets(column.oid.child(1), {}) + 2;
}

snmp::Task<std::optional<snmp::Error>> survey_table(snmp::Link& link, const Wanted::Columns& wanted,
                                                    AsFound& found) {
  ColumnWalk walk(wanted);
  std::size_t row_octets = 1;
  for (const schema::Object* column : wanted.columns) row_octets += octets_of(*column);
  int repetitions = static_cast<int>(std::clamp<std::size_t>(message_octets / row_octets, 1, 40));
  std::size_t taken = 0;
  while (!walk.done()) {
    const snmp::Answer answer = co_await link.get_bulk(walk.at(), repetitions);
    if (!answer) {
      if (answer.error().failure != snmp::Failure::too_big || repetitions == 1) co_return answer.error();
      repetitions /= 2;
      continue;
    }
    if (!walk.take(answer.varbinds(), found)) co_return stuck();
    taken += answer.varbinds().size();
    if (taken > most_in_a_table) co_return endless(*wanted.table);
  }
  co_return std::nullopt;
}

/// GETs some instances; halves them where the answer does not fit.
snmp::Task<std::optional<snmp::Error>> get_some(snmp::Link& link, std::vector<smi::Oid> instances,
                                                AsFound& found) {
  const snmp::Answer answer = co_await link.get(instances);
  if (answer) {
    for (const auto& [oid, value] : answer.varbinds()) found.instances[oid] = value;
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

}  // namespace

Wanted wanted_of(const fleet::Fleet& fleet, const fleet::Unit& unit) {
  Wanted wanted;
  Instances instances;
  const schema::Model& model = *unit.model;
  for (const schema::Object* object :
       {model.identity.present, model.identity.unit_id, model.identity.latitude, model.identity.longitude,
        model.identity.sentence}) {
    instances.add(object);
  }
  for (const auto& [name, other] : fleet.schema->models) instances.add(other->identity.present);
  for (const schema::Object* object : checks::health_objects(model)) instances.add(object);
  for (const fleet::DesiredValue& value : unit.desired.values) {
    instances.add(value.object->oid.child(0));
  }
  for (const fleet::DesiredTable& table : unit.desired.tables) {
    wanted.tables.push_back(columns_of(table));
    instances.add(table.table->most);
  }
  wanted.instances = instances.take();
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
    Wanted::Columns columns{&table, {}};
    for (const schema::Object* column : table.columns) {
      if (column->access != schema::Access::not_accessible) columns.columns.push_back(column);
    }
    wanted.tables.push_back(std::move(columns));
  }
  return wanted;
}

snmp::Task<Surveyed> read(snmp::Link& link, std::vector<smi::Oid> instances) {
  Surveyed surveyed;
  std::size_t next = 0;
  while (next < instances.size() && !surveyed.error) {
    std::vector<smi::Oid> some;
    std::size_t octets = 0;
    while (next < instances.size() && (some.empty() || octets < message_octets)) {
      octets += varbind_octets(instances[next], {}) + 24;
      some.push_back(instances[next++]);
    }
    surveyed.error = co_await get_some(link, std::move(some), surveyed.found);
  }
  surveyed.found.engine_id = link.engine().id;
  co_return surveyed;
}

snmp::Task<Surveyed> survey(snmp::Link& link, const Wanted& wanted) {
  Surveyed surveyed = co_await read(link, wanted.instances);
  for (const Wanted::Columns& table : wanted.tables) {
    if (surveyed.error) break;
    surveyed.error = co_await survey_table(link, table, surveyed.found);
  }
  co_return surveyed;
}

}  // namespace vergeset::change
