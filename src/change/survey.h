#pragma once

#include <optional>
#include <string>

#include "change/as_found.h"
#include "fleet/fleet.h"
#include "snmp/network.h"

namespace vergeset::change {

/// What an audit or a change of this unit must read: the desired instances, the columns that are
/// desired or that rows are matched by, each table's RowStatus and row limit, the mode, and what
/// says which unit it is. Nothing else: on a roadside link each round trip costs.
Wanted wanted_of(const fleet::Fleet& fleet, const fleet::Unit& unit);

/// Every readable object of the model.
Wanted wanted_whole(const schema::Model& model);

/// A survey, or why there is none.
struct Surveyed {
  AsFound found;
  std::optional<snmp::Error> error;
  explicit operator bool() const { return !error.has_value(); }
};

/// Reads what is wanted, all that can be side by side: of a table first its RowStatus column, which says what
/// rows there are, then the other wanted columns by GETBULKs that each fill a message (read_plan.h); scalars
/// beside them where there is room, the others many to a GET. Asks for less where the unit says tooBig, or
/// where it does not answer though it answers a small request: the way to it may lose large datagrams. On an
/// error all requests under way have ended.
///
/// Whatever the unit answers, it ends: after 4,000 requests, 8 MB of values, or more rows of a table than
/// that can have (column_walk.h).
snmp::Task<Surveyed> survey(snmp::Link& link, Wanted wanted);

/// Reads what checks want to know more of, where what was found gives cause (checks::health_details): nothing
/// of a healthy unit. What then is not answered is missing.
snmp::Task<void> read_details(snmp::Link& link, const schema::Model& model, AsFound& found);

/// Reads single instances.
snmp::Task<Surveyed> read(snmp::Link& link, std::vector<smi::Oid> instances);

}  // namespace vergeset::change
