// What a plan of reading must hold follows from RFC 3416 (4.2.3: a GETBULK answers with whole repetitions of
// its columns) and from the size of a message. Tables and widths are invented, drawn from a seed.

#include "change/read_plan.h"

#include <map>
#include <numeric>
#include <random>
#include <set>

#include "catch.h"

namespace {

using namespace vergeset;
using change::message_octets;
using change::Singles;
using change::Stretch;

/// A table of so many columns beside its RowStatus, of widths that are given.
struct InventedTable {
  explicit InventedTable(const std::vector<std::size_t>& contents) : objects(contents.size() + 1) {
    for (std::size_t i = 0; i < objects.size(); ++i) {
      objects[i].oid = smi::Oid{1, 3, 6, 1, 4, 1, 99999, 1, 1}.child(static_cast<std::uint32_t>(i + 1));
      table.columns.push_back(&objects[i]);
    }
    table.status = &objects.back();
    wanted.table = &table;
    for (std::size_t i = 0; i < objects.size(); ++i) {
      wanted.columns.push_back(&objects[i]);
      wanted.octets.push_back(change::column_octets(objects[i].oid, i < contents.size() ? contents[i] : 1));
    }
  }
  std::size_t octets_of(const schema::Object* column) const {
    const auto at = std::find(wanted.columns.begin(), wanted.columns.end(), column);
    return wanted.octets[static_cast<std::size_t>(at - wanted.columns.begin())];
  }
  std::size_t row_octets() const {
    return std::accumulate(wanted.octets.begin(), wanted.octets.end() - 1, std::size_t{0});
  }

  std::vector<schema::Object> objects;
  schema::Table table;
  change::Wanted::Columns wanted;
};

std::vector<std::uint32_t> rows_with_gaps(std::size_t count, std::mt19937& dice) {
  std::vector<std::uint32_t> rows;
  std::uint32_t row = 0;
  for (std::size_t i = 0; i < count; ++i) rows.push_back(row += 1 + static_cast<std::uint32_t>(dice() % 3));
  return rows;
}

/// How often each cell is read, where every stretch is answered for the rows behind its `behind`.
std::map<std::pair<const schema::Object*, std::uint32_t>, int> cells_read(
    const std::vector<Stretch>& stretches, const std::vector<std::uint32_t>& rows) {
  std::map<std::pair<const schema::Object*, std::uint32_t>, int> read;
  for (const Stretch& stretch : stretches) {
    auto at = stretch.behind ? std::upper_bound(rows.begin(), rows.end(), *stretch.behind) : rows.begin();
    for (std::size_t i = 0; i < stretch.rows.size(); ++i, ++at) {
      REQUIRE(at != rows.end());
      REQUIRE(*at == stretch.rows[i]);
      for (const schema::Object* column : stretch.columns) ++read[{column, *at}];
    }
  }
  return read;
}

TEST_CASE("every cell of a table is read once, and no message is planned to burst") {
  std::mt19937 dice(20261126);
  for (int turn = 0; turn < 2000; ++turn) {
    INFO("turn " << turn);
    std::vector<std::size_t> contents(1 + dice() % 14);
    for (std::size_t& one : contents) one = dice() % 5 == 0 ? 100 + dice() % 1500 : 1 + dice() % 8;
    const InventedTable table(contents);
    const auto rows = rows_with_gaps(dice() % 60, dice);
    const std::vector<Stretch> stretches = change::row_stretches(table.wanted, rows);

    const auto read = cells_read(stretches, rows);
    CHECK(read.size() == contents.size() * rows.size());
    CHECK(std::all_of(read.begin(), read.end(), [](const auto& cell) { return cell.second == 1; }));
    for (const Stretch& stretch : stretches) {
      std::size_t row = 0;
      for (const schema::Object* column : stretch.columns) row += table.octets_of(column);
      CHECK(stretch.row_octets == row);
      // One row, and one column, cannot be cut any further.
      const bool whole = row * stretch.rows.size() <= message_octets;
      const bool alone = stretch.rows.size() == 1 && stretch.columns.size() == 1;
      CHECK((whole || alone));
    }
  }
}

TEST_CASE("reading by width takes no more messages than reading whole rows") {
  std::mt19937 dice(7);
  for (int turn = 0; turn < 500; ++turn) {
    std::vector<std::size_t> contents(1 + dice() % 12);
    for (std::size_t& one : contents) one = dice() % 4 == 0 ? 50 + dice() % 400 : 1 + dice() % 8;
    const InventedTable table(contents);
    if (table.row_octets() > message_octets) continue;
    const auto rows = rows_with_gaps(1 + dice() % 40, dice);
    const std::size_t in_message = message_octets / table.row_octets();
    CHECK(change::row_stretches(table.wanted, rows).size() <= (rows.size() + in_message - 1) / in_message);
  }
}

TEST_CASE("twenty rows of a long message and eight numbers take one message more than their octets need") {
  const InventedTable table({300, 1, 1, 1, 1, 1, 1, 1, 1});
  std::vector<std::uint32_t> rows(20);
  std::iota(rows.begin(), rows.end(), 1);
  const std::size_t octets = table.row_octets() * rows.size();
  CHECK(change::row_stretches(table.wanted, rows).size() <=
        (octets + message_octets - 1) / message_octets + 1);
}

change::Wanted table_and_scalars(const InventedTable& table, std::size_t rows, std::size_t scalars) {
  change::Wanted wanted;
  wanted.tables.push_back(table.wanted);
  wanted.tables.back().rows = rows;
  for (std::size_t i = 0; i < scalars; ++i) {
    wanted.instances.push_back(smi::Oid{1, 3, 6, 1, 4, 1, 99999, 2, static_cast<std::uint32_t>(i + 1), 0});
    wanted.octets.push_back(change::column_octets(wanted.instances.back(), 4));
  }
  return wanted;
}

TEST_CASE("scalars fill the message of a RowStatus column, and the last few wait for the rows") {
  const InventedTable table({300, 1, 1, 1, 1, 1, 1, 1, 1});
  for (std::size_t scalars = 0; scalars < 200; ++scalars) {
    INFO(scalars << " scalars");
    const change::Wanted wanted = table_and_scalars(table, 8, scalars);
    const change::FirstTrip trip = change::first_trip(wanted);
    REQUIRE(trip.tables.size() == 1);
    REQUIRE(trip.later.size() == 1);

    std::multiset<smi::Oid> placed(trip.later[0].instances.begin(), trip.later[0].instances.end());
    placed.insert(trip.tables[0].beside.instances.begin(), trip.tables[0].beside.instances.end());
    for (const Singles& message : trip.alone) {
      placed.insert(message.instances.begin(), message.instances.end());
      CHECK(message.octets <= message_octets);
    }
    CHECK(placed == std::multiset<smi::Oid>(wanted.instances.begin(), wanted.instances.end()));

    const Stretch& status = trip.tables[0];
    CHECK(status.first_repetitions() == 9);  // one more than the rows, which tells that there are no others
    CHECK(9 * status.row_octets + status.beside.octets <= message_octets);
    std::vector<std::uint32_t> rows(8);
    std::iota(rows.begin(), rows.end(), 1);
    std::vector<Stretch> stretches = change::row_stretches(table.wanted, rows);
    CHECK(change::put_beside(trip.later[0], stretches).empty());
    for (const Stretch& stretch : stretches) {
      const std::size_t rows_octets = stretch.rows.size() * stretch.row_octets;
      CHECK(rows_octets + stretch.beside.octets <= message_octets);
    }
  }
}

TEST_CASE("what waits for rows that turn out not to be there comes back") {
  std::vector<Stretch> none;
  Singles singles;
  singles.add(smi::Oid{1, 3, 6, 1, 2, 1, 1, 5, 0}, 20);
  CHECK(change::put_beside(singles, none).instances == singles.instances);
}

}  // namespace
