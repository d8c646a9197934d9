#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "change/as_found.h"
#include "change/message_size.h"

namespace vergeset::change {

/// Instances that one message asks for, and the octets that their variable bindings are expected to take.
struct Singles {
  std::vector<smi::Oid> instances;
  std::vector<std::size_t> each;  ///< of each instance
  std::size_t octets = 0;         ///< of all

  bool empty() const { return instances.empty(); }
  void add(const smi::Oid& instance, std::size_t expected);
  void reserve(std::size_t count);
};

/// What GETBULKs read: these columns of these rows, which follow each other; and beside them, in the first
/// message, some single instances.
struct Stretch {
  std::vector<const schema::Object*> columns;
  std::size_t row_octets = 1;           ///< what a row of these columns is expected to take
  std::optional<std::uint32_t> behind;  ///< the row before the first of them; nothing: from the top
  std::vector<std::uint32_t> rows;      ///< empty: all rows there are
  std::size_t expected = 40;            ///< rows, where it is not known which there are
  Singles beside;

  /// As many rows as a message is to hold.
  std::size_t most() const;
  /// Of the first message. One more than the rows that are expected tells that there are no others.
  std::size_t first_repetitions() const;
  /// The octets that the first message has left.
  std::size_t room() const;
};

/// Whether a table is read by one stretch, and not by asking first which rows there are: it has no RowStatus
/// column, or that is not wanted.
bool is_read_at_once(const Wanted::Columns& wanted);

/// The whole of such a table.
Stretch whole_table(const Wanted::Columns& wanted);

/// The columns beside RowStatus, of the rows that were found, in few messages, and those naming few columns:
/// each costs some 340 octets that SNMPv3, UDP and IP put around it and its answer. Wide columns share
/// messages with as many narrow ones as fill them, the other columns follow in messages of their own.
std::vector<Stretch> row_stretches(const Wanted::Columns& wanted, const std::vector<std::uint32_t>& rows);

/// The messages that a survey of a unit sends at first, and what waits for its second round trip.
struct FirstTrip {
  std::vector<Stretch> tables;  ///< one for each wanted table: its RowStatus column, or the whole of it
  std::vector<Singles> alone;
  /// For each wanted table: what finds room beside its rows, and would otherwise take a message of its own.
  std::vector<Singles> later;
};
FirstTrip first_trip(const Wanted& wanted);

/// Spreads these over the first messages of stretches, where there is most room. What finds none comes back.
Singles put_beside(const Singles& singles, std::vector<Stretch>& stretches);

}  // namespace vergeset::change
