#include "change/read_plan.h"

#include <algorithm>
#include <numeric>

namespace vergeset::change {

namespace {

/// What IP, UDP and SNMPv3 with authPriv put around a request and its answer.
constexpr std::size_t exchange_octets = 340;

/// As many rows as fill a message when each takes so many octets.
std::size_t rows_in_message(std::size_t row_octets) {
  return std::max<std::size_t>(message_octets / std::max<std::size_t>(row_octets, 1), 1);
}

/// Columns that are read together, and what a row of them takes.
struct Band {
  std::vector<const schema::Object*> columns;
  std::size_t row_octets = 0;

  void add(const schema::Object* column, std::size_t octets) {
    columns.push_back(column);
    row_octets += octets;
  }
  std::size_t messages(std::size_t rows) const {
    if (columns.empty()) return 0;
    const std::size_t in_message = rows_in_message(row_octets);
    return (rows + in_message - 1) / in_message;
  }
  /// What reading so many rows costs beside the values.
  std::size_t cost(std::size_t rows) const {
    std::size_t request = 0;
    for (const schema::Object* column : columns) request += column_octets(column->oid, 0);
    return messages(rows) * (exchange_octets + request);
  }
};

/// Two bands: what so many rows to a message leave room for, the widest columns first; and the rest.
struct Split {
  Band first;
  Band rest;

  std::size_t cost(std::size_t rows) const { return first.cost(rows) + rest.cost(rows); }
};

struct WideColumn {
  const schema::Object* column;
  std::size_t octets;
};

/// Without RowStatus, the widest first.
std::vector<WideColumn> by_width(const Wanted::Columns& wanted) {
  std::vector<WideColumn> columns;
  for (std::size_t i = 0; i < wanted.columns.size(); ++i) {
    if (wanted.columns[i] != wanted.table->status) columns.push_back({wanted.columns[i], wanted.octets[i]});
  }
  std::stable_sort(columns.begin(), columns.end(),
                   [](const WideColumn& a, const WideColumn& b) { return a.octets > b.octets; });
  return columns;
}

Split split(const std::vector<WideColumn>& columns, std::size_t rows_to_a_message) {
  Split out;
  for (const auto& [column, octets] : columns) {
    const bool fits = (out.first.row_octets + octets) * rows_to_a_message <= message_octets;
    (fits || out.first.columns.empty() ? out.first : out.rest).add(column, octets);
  }
  return out;
}

Split cheapest(const std::vector<WideColumn>& columns, std::size_t rows) {
  Split best = split(columns, 1);
  const std::size_t most = columns.empty() ? 1 : rows_in_message(columns.front().octets);
  for (std::size_t together = 2; together <= std::min(most, rows); ++together) {
    Split other = split(columns, together);
    if (other.cost(rows) < best.cost(rows)) best = std::move(other);
  }
  return best;
}

/// Cuts the rows of some columns into stretches of a message each, as even as they come.
void cut(const Band& band, const std::vector<std::uint32_t>& rows, std::vector<Stretch>& out) {
  const std::size_t messages = band.messages(rows.size());
  for (std::size_t i = 0; i < messages; ++i) {
    const std::size_t from = i * rows.size() / messages;
    const std::size_t to = (i + 1) * rows.size() / messages;
    Stretch stretch;
    stretch.columns = band.columns;
    stretch.row_octets = band.row_octets;
    if (from > 0) stretch.behind = rows[from - 1];
    stretch.rows.assign(rows.begin() + static_cast<std::ptrdiff_t>(from),
                        rows.begin() + static_cast<std::ptrdiff_t>(to));
    out.push_back(std::move(stretch));
  }
}

Stretch status_column(const Wanted::Columns& wanted) {
  Stretch stretch;
  stretch.columns.push_back(wanted.table->status);
  stretch.row_octets = column_octets(wanted.table->status->oid, 1);
  stretch.expected = wanted.rows;
  return stretch;
}

std::size_t expected_octets(const Wanted& wanted, std::size_t i) {
  constexpr std::size_t some_contents = 24;
  return i < wanted.octets.size() ? wanted.octets[i] : column_octets(wanted.instances[i], some_contents);
}

/// Beside the first table's rows that leave it the room, or else in messages of their own.
void place_singles(const Wanted& wanted, FirstTrip& trip) {
  for (std::size_t i = 0; i < wanted.instances.size(); ++i) {
    const std::size_t octets = expected_octets(wanted, i);
    const auto table = std::find_if(trip.tables.begin(), trip.tables.end(),
                                    [&](const Stretch& stretch) { return stretch.room() >= octets; });
    if (table != trip.tables.end()) {
      table->beside.add(wanted.instances[i], octets);
      continue;
    }
    if (trip.alone.empty() || trip.alone.back().octets + octets > message_octets) trip.alone.emplace_back();
    trip.alone.back().add(wanted.instances[i], octets);
  }
}

/// The last message of single instances is saved where a table's rows are expected to leave it the room.
void put_off_the_last(const Wanted& wanted, FirstTrip& trip) {
  trip.later.resize(wanted.tables.size());
  for (std::size_t i = 0; i < wanted.tables.size() && !trip.alone.empty(); ++i) {
    if (wanted.tables[i].table->status == nullptr) continue;
    std::vector<std::uint32_t> rows(wanted.tables[i].rows);
    std::iota(rows.begin(), rows.end(), 1);
    std::vector<Stretch> stretches = row_stretches(wanted.tables[i], rows);
    Singles last = trip.alone.back();
    if (!put_beside(last, stretches)) continue;
    trip.later[i] = std::move(trip.alone.back());
    trip.alone.pop_back();
    return;
  }
}

}  // namespace

void Singles::add(const smi::Oid& instance, std::size_t expected) {
  instances.push_back(instance);
  octets += expected;
}

std::size_t Stretch::most() const {
  return std::min<std::size_t>(rows_in_message(row_octets), 40);
}

std::size_t Stretch::first_repetitions() const {
  return std::min(most(), rows.empty() ? expected + 1 : rows.size());
}

std::size_t Stretch::room() const {
  const std::size_t taken = first_repetitions() * row_octets + beside.octets;
  return taken < message_octets ? message_octets - taken : 0;
}

Stretch whole_table(const Wanted::Columns& wanted) {
  Stretch stretch;
  stretch.columns = wanted.columns;
  stretch.row_octets = std::accumulate(wanted.octets.begin(), wanted.octets.end(), std::size_t{0});
  return stretch;
}

std::vector<Stretch> row_stretches(const Wanted::Columns& wanted, const std::vector<std::uint32_t>& rows) {
  const Split split = cheapest(by_width(wanted), rows.size());
  std::vector<Stretch> all;
  cut(split.first, rows, all);
  cut(split.rest, rows, all);
  return all;
}

FirstTrip first_trip(const Wanted& wanted) {
  FirstTrip trip;
  for (const Wanted::Columns& table : wanted.tables) {
    trip.tables.push_back(table.table->status == nullptr ? whole_table(table) : status_column(table));
  }
  place_singles(wanted, trip);
  put_off_the_last(wanted, trip);
  return trip;
}

bool put_beside(Singles& singles, std::vector<Stretch>& stretches) {
  const auto roomiest =
      std::max_element(stretches.begin(), stretches.end(),
                       [](const Stretch& a, const Stretch& b) { return a.room() < b.room(); });
  if (roomiest == stretches.end() || roomiest->room() < singles.octets || !roomiest->beside.empty())
    return false;
  roomiest->beside = std::move(singles);
  singles = Singles();
  return true;
}

}  // namespace vergeset::change
