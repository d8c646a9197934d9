#pragma once

#include <optional>
#include <vector>

#include "checks/as_read.h"
#include "checks/finding.h"
#include "checks/position.h"
#include "records/counted.h"

namespace vergeset::checks {

/// What a unit says of its own state, judged by the rules and limits of its fleet: the mode reached against
/// the mode asked, its status and those of its services in its own words, satellites, clock, temperature,
/// certificates, and where it finds itself. With what an audit kept of it `before`, and `now` counted:
/// whether it started anew since, and whether its counters of messages move. Pure.
std::vector<Finding> health(const fleet::Fleet& fleet, const fleet::Unit& unit, const AsRead& read,
                            const records::Counted* before = nullptr, const records::Counted* now = nullptr);

/// The scalars that `health` wants to see.
std::vector<const schema::Object*> health_objects(const fleet::Unit& unit);

/// A column of which it wants to see the rows from 1 to `rows`, which have fixed numbers.
struct HealthRows {
  const schema::Object* column = nullptr;
  std::uint32_t rows = 0;
};
std::optional<HealthRows> health_rows(const fleet::Unit& unit);

/// Columns that it wants to see of all rows of a table; there are few.
struct HealthTable {
  const schema::Table* table = nullptr;
  std::vector<const schema::Object*> columns;
};
std::vector<HealthTable> health_tables(const fleet::Unit& unit);

/// What it wants to see beside these of a unit with services that are not okay: their names, what they say of
/// themselves and since when; and the status of services that a unit has beyond those with fixed numbers.
/// Nothing of a usual unit that is well.
std::vector<smi::Oid> health_details(const AsRead& read);

}  // namespace vergeset::checks
