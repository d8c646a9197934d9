#pragma once

#include <string>
#include <string_view>

#include "fleet/fleet.h"
#include "fleet/written.h"

namespace vergeset::fleet {

/// Checks one field of a site record (number within reason, date, hardware address) and keeps it.
void add_site_field(Site& site, const Written& field, Faults& faults);

/// What {site.NAME} stands for: the field as recorded, with its unit of measure behind a bare number.
/// Nothing where the unit has not recorded it.
std::optional<std::string> site_text(const Site& site, const std::string& field);

/// A field that is measured, in the unit that site_fields() names (300 ft of cable are 91.44 m). Nothing
/// where the unit has not recorded it.
std::optional<double> site_number(const Site& site, const std::string& field);

/// A field as it is recorded, without blanks around it; empty where it is not.
std::string recorded(const Site& site, std::string_view field);

bool known_site_field(const std::string& field);
std::vector<std::string> site_field_names();

}  // namespace vergeset::fleet
