#pragma once

#include <map>
#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "fleet/import_cells.h"
#include "fleet/import_columns.h"

namespace vergeset::fleet {

/// What a person decides where a spreadsheet does not.
struct ImportWishes {
  DateOrder dates = DateOrder::undecided;
  DecimalMark mark = DecimalMark::undecided;
  std::string model;   ///< of units whose row names no model of ours; empty: they are left out
  std::string groups;  ///< of units whose row names none, as units.csv has them
};

/// A cell that did not fit. Where it says who a unit is, how it is reached and what is asked of it, the row
/// is left out, since half of that would be another unit; a cell of the site record is left empty alone.
struct Misfit {
  int line = 0;
  std::string unit;    ///< its name, or what stands there; empty where nothing does
  std::string column;  ///< the header; empty where it is about the row
  std::string found;
  std::string wrong;      ///< what was expected, or what is the matter
  bool left_out = false;  ///< the row
};

/// What was done to cells of a column that a person should know of, however many they are.
struct ImportNote {
  std::string column;
  std::string text;
  std::size_t count = 0;
  int line = 0;  ///< of the first
};

/// What can be read in two ways until a person decides.
struct ImportQuestion {
  std::string column;
  std::string found;  ///< in the first such cell
  int line = 0;
  std::size_t count = 0;
  std::string answer;  ///< the option that decides, and what else in the column speaks for which
};

/// A row that became a unit.
struct ImportedUnit {
  int line = 0;
  std::map<std::string, std::string> fields;  ///< by the names of units.csv; none is empty

  const std::string& name() const { return fields.at("unit"); }
};

/// A unit that the fleet has already.
struct KnownUnit {
  int line = 0;
  std::string unit;
  struct Field {
    std::string name;
    std::string in_fleet;  ///< empty: nothing
    std::string in_sheet;
  };
  std::vector<Field> differing;  ///< what the row says otherwise; what it does not say is no difference
};

struct Import {
  ImportPlan plan;
  std::vector<ImportedUnit> units;  ///< new ones, in the order of the spreadsheet
  std::vector<KnownUnit> known;
  std::vector<Misfit> misfits;
  std::vector<ImportNote> notes;
  std::vector<ImportQuestion> questions;
  std::size_t rows = 0;  ///< below the header

  /// Whether all of the spreadsheet is, or is about to be, in the fleet as it stands there.
  bool fits() const;
};

/// Makes units of the rows below the header. Their models are `schema`'s; `fleet`, where there is one, says
/// which units, groups and credentials there are. What comes out loads without a fault as far as a unit is by
/// itself.
Import import_units(const Spreadsheet& sheet, ImportPlan plan, const ImportWishes& wishes,
                    const schema::Schema& schema, const Fleet* fleet);

/// units.csv with these units, `from` in its first line; its columns are those of which any unit has
/// something.
std::string units_csv_text(const std::vector<ImportedUnit>& units, const std::string& from);

/// The model that a word means: its name or title, in any case, or a short form of the trade ("NTCIP 1218",
/// "4.1"). Empty where none.
std::string model_meant(const std::string& word, const schema::Schema& schema);

}  // namespace vergeset::fleet
