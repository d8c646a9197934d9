#include <fmt/format.h>

#include <filesystem>
#include <memory>
#include <optional>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/new_file.h"
#include "cli/print.h"
#include "fleet/spreadsheet.h"
#include "report/import_text.h"
#include "report/words.h"
#include "smi/inert.h"
#include "smi/suggest.h"

namespace vergeset::cli {

namespace {

struct ImportOptions {
  std::string fleet = ".";
  bool json = false;
  std::string file;
  std::vector<std::string> columns;
  std::size_t header = 0;
  std::string delimiter;
  std::string dates;
  std::string decimal;
  std::string model;
  std::string groups;
  std::string out;
  bool dry_run = false;
};

/// What was asked for on the command line, understood.
struct Asked {
  std::vector<fleet::AskedColumn> columns;
  std::optional<char> delimiter;
  fleet::ImportWishes wishes;
};

/// Nothing where a word is wrong, which is told.
std::optional<Asked> understood(const ImportOptions& options) {
  Asked asked;
  for (const std::string& text : options.columns) {
    const auto column = fleet::parse_asked_column(text);
    if (!column) {
      complain("--column: " + column.problem());
      return std::nullopt;
    }
    asked.columns.push_back(*column);
  }
  const auto wrong = [](const std::string& option, const std::string& expected, const std::string& found) {
    complain(fmt::format("{}: expected {}, found {}", option, expected, found));
    return std::nullopt;
  };
  if (!options.delimiter.empty()) {
    asked.delimiter = fleet::delimiter_of(options.delimiter);
    if (!asked.delimiter) return wrong("--delimiter", "comma, semicolon, tab or bar", options.delimiter);
  }
  if (options.dates == "day-first") asked.wishes.dates = fleet::DateOrder::day_first;
  if (options.dates == "month-first") asked.wishes.dates = fleet::DateOrder::month_first;
  if (!options.dates.empty() && asked.wishes.dates == fleet::DateOrder::undecided) {
    return wrong("--dates", "day-first or month-first", options.dates);
  }
  if (options.decimal == "comma") asked.wishes.mark = fleet::DecimalMark::comma;
  if (options.decimal == "point") asked.wishes.mark = fleet::DecimalMark::point;
  if (!options.decimal.empty() && asked.wishes.mark == fleet::DecimalMark::undecided) {
    return wrong("--decimal", "comma or point", options.decimal);
  }
  asked.wishes.model = options.model;
  asked.wishes.groups = options.groups;
  return asked;
}

/// The fleet that the units are for, where there is one.
struct Destination {
  std::optional<fleet::Fleet> fleet;
  std::unique_ptr<schema::Schema> own_schema;
  std::string path;  ///< of the file to be written

  const schema::Schema& schema() const { return fleet ? *fleet->schema : *own_schema; }
};

/// A fleet that has no units yet is one that units are imported into.
bool lacks_units_alone(const std::string& folder) {
  std::error_code error;
  for (const char* units : {"/units.yaml", "/units.csv", "/units.yml"}) {
    if (std::filesystem::exists(folder + units, error)) return false;
  }
  return true;
}

std::optional<Destination> destination(const ImportOptions& options) {
  Destination to;
  to.path = options.out.empty() ? options.fleet + "/units.csv" : options.out;
  std::error_code error;
  Faults faults;
  if (std::filesystem::exists(options.fleet + "/fleet.yaml", error)) {
    const std::string no_units = "unit,address,model\n";
    to.fleet = lacks_units_alone(options.fleet)
                   ? fleet::load_fleet_with(options.fleet, schemas_folder(), no_units, faults)
                   : fleet::load_fleet(options.fleet, schemas_folder(), faults);
  } else if (options.out.empty()) {
    complain("no fleet.yaml in " + options.fleet +
             "; give the fleet's folder with --fleet DIR, or name a file with --out FILE");
    return std::nullopt;
  } else {
    to.own_schema = std::make_unique<schema::Schema>(schema::load_schema(schemas_folder(), "", faults));
  }
  if (!faults.any()) return to;
  print_aside(report::faults_text(faults));
  return std::nullopt;
}

/// The model that --model names, in our spelling; empty where none is named.
Result<std::string> wished_model(const std::string& word, const schema::Schema& schema) {
  if (word.empty()) return word;
  std::string model = fleet::model_meant(word, schema);
  if (!model.empty()) return model;
  std::vector<std::string> known;
  for (const auto& [name, kept] : schema.models) known.push_back(name);
  return Problem{"--model: no model is called " + word + smi::suggestion(word, known)};
}

struct Read {
  report::ImportSource source;
  fleet::Import import;
};

Result<Read> read(const ImportOptions& options, const Asked& asked, const Destination& to) {
  const auto octets = read_file(options.file);
  if (!octets) return Problem{octets.problem()};
  const auto sheet = fleet::read_spreadsheet(*octets, asked.delimiter);
  if (!sheet) return Problem{options.file + " " + sheet.problem()};
  auto plan = fleet::plan_import(*sheet, asked.columns, static_cast<int>(options.header));
  if (!plan) return Problem{options.file + ": " + plan.problem()};
  fleet::ImportWishes wishes = asked.wishes;
  const auto model = wished_model(wishes.model, to.schema());
  if (!model) return Problem{model.problem()};
  wishes.model = *model;
  return Read{
      {options.file, sheet->encoding, fleet::delimiter_name(sheet->delimiter)},
      fleet::import_units(*sheet, *std::move(plan), wishes, to.schema(), to.fleet ? &*to.fleet : nullptr)};
}

/// What the fleet would have to say of these units; empty where it takes them.
std::string faults_with(const ImportOptions& options, const Destination& to, const std::string& csv) {
  if (!to.fleet) return {};
  Faults faults;
  fleet::load_fleet_with(options.fleet, schemas_folder(), csv, faults);
  constexpr std::size_t most = 20;
  return faults.any() ? report::faults_text(faults, most) : "";
}

/// Writes the units, or says why not.
std::string write_units(const ImportOptions& options, const Destination& to, const fleet::Import& import) {
  if (import.units.empty()) return "no new unit; nothing was written";
  if (!import.questions.empty()) return "nothing was written: first decide what is told above";
  const std::string csv =
      fleet::units_csv_text(import.units, std::filesystem::path(options.file).filename().string());
  if (const std::string faults = faults_with(options, to, csv); !faults.empty()) {
    return "nothing was written: the fleet would have these faults with it\n" + faults;
  }
  std::error_code error;
  const bool taken = std::filesystem::exists(std::filesystem::symlink_status(to.path, error));
  if (options.dry_run && !taken) return {};
  const std::string problem =
      taken ? to.path + " is there already and is never overwritten" : write_new_file(to.path, csv);
  if (problem.empty()) return {};
  return problem + (options.out.empty() ? "; --out FILE writes the new units to a file of their own" : "");
}

std::string last_line(const ImportOptions& options, const Destination& to, const fleet::Import& import) {
  const std::string units = report::counted(import.units.size(), "new unit");
  if (options.dry_run) return fmt::format("\n{}; a dry run: nothing was written\n", units);
  return fmt::format("\n{}, written to {}\n", units, to.path);
}

int import_file(const ImportOptions& options) {
  const auto asked = understood(options);
  if (!asked) return Exit::bad_input;
  const auto to = destination(options);
  if (!to) return Exit::bad_input;
  const auto got = read(options, *asked, *to);
  if (!got) return complain(got.problem());
  const fleet::Import& import = got->import;
  if (!options.json) print(report::import_text(screen_here(), got->source, import));
  const std::string problem = write_units(options, *to, import);
  if (options.json) {
    report::Json document = report::import_json(got->source, import);
    document["written"] = nullptr;
    if (problem.empty() && !options.dry_run) document["written"] = to->path;
    document["problem"] = problem;
    print(report::dump(document));
  } else if (problem.empty()) {
    print(smi::inert_lines(last_line(options, *to, import)));
  }
  const bool nothing_new = import.units.empty() && import.fits() && !import.known.empty();
  if (nothing_new) {
    if (!options.json) print("\nno new unit; nothing was written\n");
    return Exit::done;
  }
  if (!problem.empty() && !options.json) return complain(problem);
  return problem.empty() && import.fits() ? Exit::done : Exit::bad_input;
}

}  // namespace

Command import_command() {
  const auto options = std::make_shared<ImportOptions>();
  return {"import",
          "Makes units.csv of a spreadsheet. What did not fit is told: exit 2.",
          {{"",
            {{"FILE", "", "the spreadsheet, saved as CSV or text", &options->file, true},
             {"--column", "'C=F'", "column C is field F, or none; may be repeated", &options->columns},
             {"--dates", "ORDER", "day-first or month-first, where it can be both", &options->dates},
             {"--decimal", "MARK", "comma or point, where 1,234 can be both", &options->decimal},
             {"--model", "M", "", &options->model},
             {"--groups", "G", "of units whose row names none", &options->groups},
             {"--header", "LINE", "", &options->header},
             {"--delimiter", "D", "where they are not found by themselves", &options->delimiter},
             {"--out", "FILE", "write this, not units.csv of the fleet", &options->out},
             {"--dry-run", "", "tell all of it, and write nothing", &options->dry_run}}},
           {"Where to",
            {{"--fleet", "DIR", "the fleet's folder (default: here)", &options->fleet},
             {"--json", "", "one JSON document instead of text", &options->json}}}},
          "vergeset import rsus.csv --column 'Cable=cable-length ft' --dry-run",
          [options] { return import_file(*options); }};
}

}  // namespace vergeset::cli
