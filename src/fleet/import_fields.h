#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace vergeset::fleet {

/// A field of units.csv as something that a spreadsheet's column can be mapped to.
struct ImportField {
  enum class Takes {
    unit,
    address,
    port,
    model,
    groups,
    credential,
    hex,       ///< engine id, fingerprint
    position,  ///< latitude and longitude in one cell; no field of units.csv
    latitude,
    longitude,
    measure,  ///< a number of `unit`
    date,
    yes_no,
    hardware,  ///< a hardware address
    words,     ///< whatever add_site_field takes
    value,     ///< values.NAME
  };
  std::string name;  ///< as units.csv has it: "unit", "site.pole", "values.lane"; or "position"
  Takes takes = Takes::words;
  std::string unit;  ///< of a measure

  bool of_site() const { return name.rfind("site.", 0) == 0; }
};

/// The field of a name; fields of a site record with or without "site." in front. Which kind a field of the
/// site record is, and its unit, is asked of site.h, so that a field that is added there can be imported.
/// Nothing where units.csv has no such column.
std::optional<ImportField> import_field(std::string_view name);

/// The names of all fields but those of values, as units.csv orders its columns.
std::vector<std::string> import_field_names();

/// What a header says, by the words of the trade.
struct HeaderSays {
  std::optional<ImportField> field;
  int rank = 0;              ///< of two headers for one field, that with the lower one is the likelier
  std::string unit;          ///< that bare numbers below are in, as the header says; empty where it does not
  std::string unknown_unit;  ///< what stands in brackets where a unit of a measure would; empty: nothing does
  char letter = 0;           ///< N, S, E or W of a coordinate, as in "Long (W)"
};

/// Case, marks and blanks do not count; "#", "number" and "no." are one word; "RSU" and "device" in front may
/// be missing; a unit may stand behind the name, in brackets or not. A header that says no field in whole
/// says none: "Old IP" is not "IP".
HeaderSays header_says(const std::string& header);

}  // namespace vergeset::fleet
