#include "change/read_plan.h"

#include <algorithm>
#include <numeric>
#include <utility>

namespace vergeset::change {

namespace {

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
    const std::size_t in_message = rows_in_message(row_octets);
    return (rows + in_message - 1) / in_message;
  }
};

struct WideColumn {
  const schema::Object* column;
  std::size_t octets;
};

/// Without RowStatus, the widest first.
std::vector<WideColumn> by_width(const Wanted::Columns& wanted) {
  std::vector<WideColumn> columns;
  columns.reserve(wanted.columns.size());
  for (std::size_t i = 0; i < wanted.columns.size(); ++i) {
    if (wanted.columns[i] != wanted.table->status) columns.push_back({wanted.columns[i], wanted.octets[i]});
  }
  std::stable_sort(columns.begin(), columns.end(),
                   [](const WideColumn& a, const WideColumn& b) { return a.octets > b.octets; });
  return columns;
}

/// Bands of which each holds in a message a row at least, the first of them so many, or but one column.
std::vector<Band> bands_of(std::vector<WideColumn> columns, std::size_t rows_to_a_message) {
  std::vector<Band> bands;
  while (!columns.empty()) {
    const std::size_t rows = bands.empty() ? rows_to_a_message : 1;
    Band& band = bands.emplace_back();
    band.columns.reserve(columns.size());
    std::vector<WideColumn> rest;
    rest.reserve(columns.size());
    for (const WideColumn& one : columns) {
      const bool fits = (band.row_octets + one.octets) * rows <= message_octets;
      if (fits || band.columns.empty()) {
        band.add(one.column, one.octets);
      } else {
        rest.push_back(one);
      }
    }
    columns = std::move(rest);
  }
  return bands;
}

/// What reading so many rows takes: messages, and columns named in them.
std::pair<std::size_t, std::size_t> cost_of(const std::vector<Band>& bands, std::size_t rows) {
  std::pair<std::size_t, std::size_t> cost;
  for (const Band& band : bands) {
    cost.first += band.messages(rows);
    cost.second += band.messages(rows) * band.columns.size();
  }
  return cost;
}

std::vector<Band> cheapest(const std::vector<WideColumn>& columns, std::size_t rows) {
  std::vector<Band> best = bands_of(columns, 1);
  const std::size_t most = columns.empty() ? 1 : rows_in_message(columns.front().octets);
  for (std::size_t together = 2; together <= std::min(most, rows); ++together) {
    std::vector<Band> other = bands_of(columns, together);
    if (cost_of(other, rows) < cost_of(best, rows)) best = std::move(other);
  }
  return best;
}

/// Which of so many rows is the first of a message, where messages share them as evenly as they come.
std::size_t first_row(std::size_t message, std::size_t rows, std::size_t messages) {
  return message * rows / messages;
}

/// Cuts the rows of some columns into stretches of a message each.
void cut(const Band& band, const std::vector<std::uint32_t>& rows, std::vector<Stretch>& out) {
  const std::size_t messages = band.messages(rows.size());
  for (std::size_t i = 0; i < messages; ++i) {
    const std::size_t from = first_row(i, rows.size(), messages);
    const std::size_t to = first_row(i + 1, rows.size(), messages);
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
  if (!trip.tables.empty()) trip.tables.front().beside.reserve(wanted.instances.size());
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

/// What each message of these bands leaves.
std::vector<std::size_t> rooms_beside(const std::vector<Band>& bands, std::size_t rows) {
  std::vector<std::size_t> rooms;
  for (const Band& band : bands) {
    const std::size_t messages = band.messages(rows);
    for (std::size_t i = 0; i < messages; ++i) {
      const std::size_t in_it = first_row(i + 1, rows, messages) - first_row(i, rows, messages);
      const std::size_t taken = in_it * band.row_octets;
      rooms.push_back(taken < message_octets ? message_octets - taken : 0);
    }
  }
  return rooms;
}

/// Whether put_beside() finds room for all of these.
bool fits_beside(const Singles& singles, std::vector<std::size_t> rooms) {
  for (const std::size_t octets : singles.each) {
    const auto roomiest = std::max_element(rooms.begin(), rooms.end());
    if (roomiest == rooms.end() || *roomiest < octets) return false;
    *roomiest -= octets;
  }
  return true;
}

/// The last message of single instances is saved where a table's rows are expected to leave it the room.
void put_off_the_last(const Wanted& wanted, FirstTrip& trip) {
  trip.later.resize(wanted.tables.size());
  for (std::size_t i = 0; i < wanted.tables.size() && !trip.alone.empty(); ++i) {
    const Wanted::Columns& table = wanted.tables[i];
    if (is_read_at_once(table)) continue;
    const std::vector<Band> bands = cheapest(by_width(table), table.rows);
    if (!fits_beside(trip.alone.back(), rooms_beside(bands, table.rows))) continue;
    trip.later[i] = std::move(trip.alone.back());
    trip.alone.pop_back();
    return;
  }
}

}  // namespace

void Singles::add(const smi::Oid& instance, std::size_t expected) {
  instances.push_back(instance);
  each.push_back(expected);
  octets += expected;
}

void Singles::reserve(std::size_t count) {
  instances.reserve(count);
  each.reserve(count);
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

bool is_read_at_once(const Wanted::Columns& wanted) {
  return wanted.at_once || wanted.table->status == nullptr;
}

Stretch whole_table(const Wanted::Columns& wanted) {
  Stretch stretch;
  stretch.columns = wanted.columns;
  stretch.row_octets = std::accumulate(wanted.octets.begin(), wanted.octets.end(), std::size_t{0});
  if (wanted.at_once) stretch.expected = wanted.rows;
  return stretch;
}

std::vector<Stretch> row_stretches(const Wanted::Columns& wanted, const std::vector<std::uint32_t>& rows) {
  std::vector<Stretch> all;
  for (const Band& band : cheapest(by_width(wanted), rows.size())) cut(band, rows, all);
  return all;
}

FirstTrip first_trip(const Wanted& wanted) {
  FirstTrip trip;
  trip.tables.reserve(wanted.tables.size());
  for (const Wanted::Columns& table : wanted.tables) {
    trip.tables.push_back(is_read_at_once(table) ? whole_table(table) : status_column(table));
  }
  place_singles(wanted, trip);
  put_off_the_last(wanted, trip);
  return trip;
}

Singles put_beside(const Singles& singles, std::vector<Stretch>& stretches) {
  Singles left;
  for (Stretch& stretch : stretches) stretch.beside.reserve(singles.instances.size());
  for (std::size_t i = 0; i < singles.instances.size(); ++i) {
    const auto roomiest =
        std::max_element(stretches.begin(), stretches.end(),
                         [](const Stretch& a, const Stretch& b) { return a.room() < b.room(); });
    const bool fits = roomiest != stretches.end() && roomiest->room() >= singles.each[i];
    (fits ? roomiest->beside : left).add(singles.instances[i], singles.each[i]);
  }
  return left;
}

}  // namespace vergeset::change
