#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "fleet/fleet.h"

namespace vergeset::checks {

/// A row by which a unit is to send a message, in terms that all models have: of the common tables
/// store-and-repeat and immediate-forward. What a row does not say, or says by a value that cannot be read,
/// is absent. Pointers are into the unit.
struct MessageRow {
  const fleet::DesiredRow* row = nullptr;
  std::string name;  ///< "store-and-repeat map"
  bool repeated =
      false;  ///< held by the unit and sent again and again; otherwise handed to it and sent at once
  bool enabled = true;
  std::optional<std::uint32_t> psid;
  std::optional<int> message;  ///< the kind that the row says, by its J2735 id
  std::optional<int> channel;
  std::optional<std::int64_t> interval_ms;
  std::optional<std::int64_t> start;  ///< tenths of a second since 1970-01-01T00:00Z
  std::optional<std::int64_t> stop;
  bool by_turns = false;  ///< on one of two channels that its radio is on by turns
  bool secured = true;    ///< the unit signs it
  const fleet::DesiredValue* payload = nullptr;

  /// Of the payload where there is one, otherwise of the row.
  Place place() const;
  /// Of the column of this common name, or of the row.
  Place place_of(const char* column) const;
};

std::vector<MessageRow> message_rows(const fleet::Unit& unit);

/// The value of a row's column by the column's common name; nothing where the row does not ask for it.
const fleet::DesiredValue* column_named(const fleet::DesiredRow& row, std::string_view common);

/// IEEE 1609.3 P-encoding: the number of a PSID's octets.
std::optional<std::uint32_t> psid_number(std::string_view octets);

}  // namespace vergeset::checks
