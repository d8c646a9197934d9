// A spreadsheet of an agency's, whatever it holds: what is made of it is a units.csv that is read back as the
// same units. The first octet chooses what a person has said beforehand.
//
// About: src/fleet/spreadsheet.cpp src/fleet/spreadsheet_text.cpp src/fleet/import_columns.cpp
// About: src/fleet/import_fields.cpp src/fleet/import_units.cpp src/fleet/import_cells.cpp
// src/fleet/import_csv.cpp About: src/fleet/import_dates.cpp src/fleet/import_numbers.cpp
// src/fleet/import_degrees.cpp src/fleet/import_known.cpp

#include "fleet/spreadsheet.h"

#include "fleet/import_units.h"
#include "fuzz/larkmoor.h"

using namespace vergeset;

namespace {

fleet::ImportWishes wishes_of(unsigned octet) {
  fleet::ImportWishes wishes;
  wishes.dates = static_cast<fleet::DateOrder>(octet % 3);
  wishes.mark = static_cast<fleet::DecimalMark>(octet / 3 % 3);
  if ((octet & 0x40) != 0) wishes.model = "ntcip1218-v01";
  return wishes;
}

void must_read_back(const std::vector<fleet::ImportedUnit>& units) {
  Faults faults;
  std::size_t at = 0;
  fleet::read_units_csv(
      fleet::units_csv_text(units, "a\nfile.csv"), "units.csv", faults, [&](const fleet::UnitEntry& entry) {
        fuzz::must(at < units.size() && entry.name == units[at].name(), "a unit reads back", entry.name);
        fuzz::must(entry.address && entry.address->text == units[at].fields.at("address"),
                   "its address reads back", entry.name);
        for (const fleet::Written& field : entry.site) {
          fuzz::must(units[at].fields.at("site." + field.name) == field.text, "its site record reads back",
                     field.text);
        }
        ++at;
      });
  for (const Fault& fault : faults.sorted()) fuzz::must(false, "what is written has no fault", fault.str());
  fuzz::must(at == units.size(), "every unit reads back");
}

}  // namespace

FUZZ_TARGET(spreadsheet) {
  const fleet::ImportWishes wishes = wishes_of(fuzz::take_octet(input));
  const auto sheet = fleet::read_spreadsheet(input, {});
  if (!sheet) return fuzz::must_explain(sheet.problem());
  const auto plan = fleet::plan_import(*sheet, {}, 0);
  if (!plan) return fuzz::must(!plan.problem().empty(), "a refusal says why");
  const fleet::Fleet& known = fuzz::larkmoor();
  const schema::Schema& schema = known.schema ? *known.schema : *fuzz::standards();
  const fleet::Import import = fleet::import_units(*sheet, *plan, wishes, schema, &known);
  fuzz::must(import.units.size() + import.known.size() <= import.rows, "a row is one unit at most");
  for (const fleet::Misfit& misfit : import.misfits) {
    fuzz::must(misfit.line > 0 && !misfit.wrong.empty(), "what did not fit has a line and a reason");
  }
  must_read_back(import.units);
}
