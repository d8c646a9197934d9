#include "fleet/import_units.h"

#include <chrono>

#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

const schema::Schema& standards() {
  static const schema::Schema schema = [] {
    Faults faults;
    return schema::load_schema(schemas, "", faults);
  }();
  return schema;
}

std::vector<AskedColumn> asked(const std::vector<std::string>& texts) {
  std::vector<AskedColumn> columns;
  for (const std::string& text : texts) {
    const auto column = parse_asked_column(text);
    if (!column) throw std::runtime_error(column.problem());
    columns.push_back(*column);
  }
  return columns;
}

Import import(const std::string& octets, ImportWishes wishes = {},
              const std::vector<std::string>& columns = {}, const Fleet* fleet = nullptr, int header = 0) {
  const auto sheet = read_spreadsheet(octets, {});
  if (!sheet) throw std::runtime_error(sheet.problem());
  auto plan = plan_import(*sheet, asked(columns), header);
  if (!plan) throw std::runtime_error(plan.problem());
  if (wishes.model.empty()) wishes.model = "ntcip1218-v01";
  return import_units(*sheet, *std::move(plan), wishes, standards(), fleet);
}

std::string field(const Import& import, const std::string& unit, const std::string& name) {
  for (const ImportedUnit& each : import.units) {
    if (each.name() != unit) continue;
    const auto found = each.fields.find(name);
    return found == each.fields.end() ? "" : found->second;
  }
  return "no unit " + unit;
}

std::string field_of_column(const Import& import, const std::string& header) {
  for (const ImportColumn& column : import.plan.columns) {
    if (column.header == header) return column.field ? column.field->name : "not used: " + column.why;
  }
  return "no column " + header;
}

/// "4 Lat: expected ..." for each.
std::string misfits(const Import& import) {
  std::string text;
  for (const Misfit& misfit : import.misfits) {
    text += std::to_string(misfit.line) + " " + misfit.column + ": " + misfit.found + ": " + misfit.wrong +
            (misfit.left_out ? " (row)" : "") + "\n";
  }
  return text;
}

constexpr const char* agency =
    "Larkmoor district - roadside units\n"
    "printed 2024-07-01\n"
    "\n"
    "Device Name,IP,Lat,Long (deg),Pole #,Cable ft,Mounting Height (ft),Install Date,MAC Address,Serial "
    "Number,Owner,,\n"
    "RSU 1,192.0.2.1:16161,\"54\xc2\xb0"
    "53'59.67\"\"N\",20.0293837 W,SW mast arm,120,20,6/25/2024,001A.2B3C.4D5E,LM1,city,,\n"
    "RSU 2,192.0.2.2/24,54.9,-20.03,P-7,31 m,n/a,2024-06-10,,LM2,city,,\n";

}  // namespace

TEST_CASE("an agency's spreadsheet becomes units by the words of the trade") {
  const Import sheet = import(agency);
  INFO(misfits(sheet));
  CHECK(sheet.plan.line == 4);
  REQUIRE(sheet.units.size() == 2);
  CHECK(sheet.misfits.empty());
  CHECK(sheet.questions.empty());
  CHECK(sheet.fits());
  CHECK(field(sheet, "RSU-1", "address") == "192.0.2.1");
  CHECK(field(sheet, "RSU-1", "port") == "16161");
  CHECK(field(sheet, "RSU-1", "model") == "ntcip1218-v01");
  CHECK(field(sheet, "RSU-1", "site.latitude") == "54.8999083");
  CHECK(field(sheet, "RSU-1", "site.longitude") == "-20.0293837");
  CHECK(field(sheet, "RSU-1", "site.pole") == "SW mast arm");
  CHECK(field(sheet, "RSU-1", "site.cable-length") == "36.576");
  CHECK(field(sheet, "RSU-1", "site.mount-height") == "6.096");
  CHECK(field(sheet, "RSU-1", "site.installed") == "2024-06-25");
  CHECK(field(sheet, "RSU-1", "site.mac") == "00:1a:2b:3c:4d:5e");
  CHECK(field(sheet, "RSU-2", "site.cable-length") == "31");
  CHECK(field(sheet, "RSU-2", "site.mount-height").empty());
  CHECK(field_of_column(sheet, "Owner") == "not used: ");
  CHECK(sheet.notes.size() == 3);  // names, /24, n/a
}

TEST_CASE("what comes out is a units.csv that loads without a fault, whatever the cells hold") {
  const Import sheet = import(
      "Name,IP,Notes,Pole #,Location\n"
      "LK-1,127.0.0.1,\"a \"\"quoted\"\" word, and more\nbelow\",#7, Mill Lane \n"
      "LK-2,127.0.0.2,caf\xc3\xa9,,\"=1+1\"\n");
  CHECK(sheet.misfits.empty());
  const std::string csv = units_csv_text(sheet.units, "evil\nname.csv");
  INFO(csv);
  const Tree tree({{"fleet.yaml", least_fleet}, {"units.csv", csv}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.unit("LK-1").site.fields.at("note") == "a \"quoted\" word, and more below");
  CHECK(tree.unit("LK-1").site.fields.at("pole") == "#7");
  CHECK(tree.unit("LK-2").site.fields.at("place") == "=1+1");
}

TEST_CASE("each field of a site record can be imported by its own name") {
  for (const std::string& name : import_field_names()) {
    INFO(name);
    const HeaderSays says = header_says(name);
    REQUIRE(says.field);
    CHECK(says.field->name == name);
  }
  CHECK_FALSE(header_says("Old IP").field);
  CHECK_FALSE(header_says("Owner").field);
  CHECK_FALSE(header_says("").field);
  CHECK(header_says("Long (W)").letter == 'W');
  CHECK(header_says("RSU IP Address").field->name == "address");
  CHECK(header_says("DATE_INSTALLED").field->name == "site.installed");
}

TEST_CASE("ambiguous dates and marks are asked about, with what speaks for which, and are never guessed") {
  const std::string sheet =
      "Name,IP,Install Date,Height (m)\nA,192.0.2.1,6/10/2024,\"1,234\"\nB,192.0.2.2,25/6/2024,5\n";
  const Import undecided = import(sheet);
  REQUIRE(undecided.questions.size() == 2);
  CHECK(undecided.questions[0].line == 2);
  CHECK(undecided.questions[0].answer.find("line 3 has 25/6/2024, which is day first") != std::string::npos);
  CHECK(undecided.questions[1].answer.find("--decimal") != std::string::npos);
  CHECK_FALSE(undecided.fits());
  CHECK(field(undecided, "A", "site.installed").empty());

  ImportWishes wishes;
  wishes.dates = DateOrder::day_first;
  wishes.mark = DecimalMark::comma;
  const Import decided = import(sheet, wishes);
  CHECK(decided.questions.empty());
  CHECK(field(decided, "A", "site.installed") == "2024-10-06");
  CHECK(field(decided, "A", "site.mount-height") == "1.234");
}

TEST_CASE("a comma that is decimal in one cell is so in all cells that could have either") {
  const Import sheet = import("Name;IP;Lat;Height (m)\nA;192.0.2.1;54,8999;1,234\nB;192.0.2.2;54,9;6,1\n");
  CHECK(sheet.questions.empty());
  CHECK(field(sheet, "A", "site.mount-height") == "1.234");
  CHECK(field(sheet, "A", "site.latitude") == "54.8999");
  CHECK(field(sheet, "B", "site.mount-height") == "6.1");
}

TEST_CASE("cells of the site record that do not fit are left empty, other cells leave the row out") {
  const Import sheet = import(
      "Name,IP,Lat,Long,Install Date,Height\n"
      "A,192.0.2.1,154,20,soon,tall\n"
      "B,192.0.2,54,20,,\n"
      ",192.0.2.3,54,20,,\n"
      "D,,54,20,,\n"
      "Total: 4,,,,,\n");
  INFO(misfits(sheet));
  REQUIRE(sheet.units.size() == 1);
  CHECK(sheet.units[0].name() == "A");
  CHECK(field(sheet, "A", "site.latitude").empty());
  CHECK(field(sheet, "A", "site.longitude") == "20");
  CHECK(says(misfits(sheet),
             {"2 Lat: 154: expected -90 to 90 deg for latitude\n", "2 Install Date: soon: expected a date",
              "2 Height: tall: expected a number of m\n", "3 IP: 192.0.2: expected an IPv4", "(row)",
              "4 : : expected the unit's name (row)", "5 : : expected an address (row)",
              "6 : : expected an address (row)"}));
}

TEST_CASE("a name or address that stands twice is told with the line that has it") {
  const Import sheet =
      import("Name,IP\nA,192.0.2.1\nA,192.0.2.2\nB,192.0.2.1\nB,192.0.2.1:1162\nName,IP\nC,192.0.2.3\n");
  CHECK(sheet.units.size() == 2);
  CHECK(says(misfits(sheet), {"3 : : unit A stands on line 2 already (row)",
                              "4 : : its address 192.0.2.1 stands on line 2 already (row)",
                              "5 : : unit B stands on line 4 already (row)"}));
  CHECK(sheet.rows == 5);
}

TEST_CASE("a person says what a column is, which unit it is in, or that it is not to be used") {
  const std::string sheet = "Kit,Where,Run,Notes,IP\nA,192.0.2.1,100,secret plans,192.0.2.9\n";
  const Import mapped = import(sheet, {}, {"kit=unit", "Where=address", "Run=cable-length ft", "Notes=none"});
  CHECK(field(mapped, "A", "address") == "192.0.2.1");
  CHECK(field(mapped, "A", "site.cable-length") == "30.48");
  CHECK(field(mapped, "A", "site.note").empty());
  CHECK(field_of_column(mapped, "IP") == "not used: address is taken from Where");
  CHECK_FALSE(parse_asked_column("Run=cable-lenght"));
  CHECK(parse_asked_column("Run=cable-lenght").problem().find("did you mean") != std::string::npos);
  CHECK_FALSE(parse_asked_column("Run=cable-length kg"));
  CHECK_FALSE(parse_asked_column("Run"));
  CHECK(parse_asked_column("a=b=values.lane")->header == "a=b");
  const auto sheet_read = read_spreadsheet(sheet, {});
  const auto plan = plan_import(*sheet_read, asked({"Runn=cable-length", "Kit=unit"}), 0);
  REQUIRE_FALSE(plan);
  CHECK(plan.problem().find("has no column Runn; did you mean Run?") != std::string::npos);
}

TEST_CASE("a spreadsheet that does not say who the units are is refused with what to do") {
  const auto refused = [](const std::string& text, int line = 0) {
    const auto sheet = read_spreadsheet(text, {});
    const auto plan = plan_import(*sheet, {}, line);
    return plan ? "taken" : plan.problem();
  };
  CHECK(says(refused("a,b\n1,2\n"), {"no line names a column that is known", "--column"}));
  CHECK(says(refused("IP,b\n192.0.2.1,2\n"), {"--column 'THEIR NAME=unit'"}));
  CHECK(says(refused("Name,b\n192.0.2.1,2\n"), {"--column 'THEIR NAME=address'"}));
  CHECK(says(refused("Name,IP\nA,192.0.2.1\n", 7), {"no row begins on line 7"}));
}

TEST_CASE("both coordinates in one cell are taken apart, unless each has a column of its own") {
  for (const char* cell :
       {"54.9, -20.03", "54.9,-20.03", "54.9;-20.03", "54.9 -20.03", "54.9N 20.03W", "54,9; -20,03"}) {
    INFO(cell);
    const Import sheet = import("Name,IP,Coordinates\nA,192.0.2.1,\"" + std::string(cell) + "\"\n");
    CHECK(field(sheet, "A", "site.latitude") == "54.9");
    CHECK(field(sheet, "A", "site.longitude") == "-20.03");
  }
  const Import both = import("Name,IP,GPS,Lat,Long\nA,192.0.2.1,here,54,20\n");
  CHECK(field_of_column(both, "GPS") == "not used: position is taken from Lat");
  CHECK(both.misfits.empty());
  CHECK(import("Name,IP,GPS\nA,192.0.2.1,here\n").misfits.size() == 1);
}

TEST_CASE("models are known by name, title and short forms; a maker's own needs a person's word") {
  CHECK(model_meant("NTCIP 1218 v01", standards()) == "ntcip1218-v01");
  CHECK(model_meant("ntcip1218", standards()) == "ntcip1218-v01");
  CHECK(model_meant("4.1", standards()) == "rsu-4.1");
  CHECK(model_meant("X-200", standards()).empty());
  const auto sheet = read_spreadsheet("Name,IP,Model\nA,192.0.2.1,X-200\nB,192.0.2.2,RSU 4.1\n", {});
  const auto plan = plan_import(*sheet, {}, 0);
  const Import strict = import_units(*sheet, *plan, {}, standards(), nullptr);
  CHECK(strict.units.size() == 1);
  CHECK(says(misfits(strict), {"2 Model: X-200: expected ntcip1218-v01 or rsu-4.1", "(row)"}));
  ImportWishes wishes;
  wishes.model = "ntcip1218-v01";
  const Import wished = import_units(*sheet, *plan, wishes, standards(), nullptr);
  CHECK(field(wished, "A", "model") == "ntcip1218-v01");
  CHECK(field(wished, "B", "model") == "rsu-4.1");
}

TEST_CASE("units that the fleet has already are compared and not made anew") {
  const Tree tree(
      {{"fleet.yaml", least_fleet},
       {"groups/all.yaml", ""},
       {"units.yaml",
        "units:\n"
        "  A: {address: 192.0.2.1, model: rsu-4.1, groups: [all], site: {cable-length: 31 m, pole: P 7}}\n"
        "  B: {address: 192.0.2.2, model: rsu-4.1}\n"}});
  REQUIRE_FALSE(tree.faults.any());
  const Import sheet = import(
      "Name,IP,Model,Groups,Cable (m),Pole #\n"
      "A,192.0.2.1,4.1,all,31,P7\n"
      "B,192.0.2.22,4.1,,40,\n"
      "C,192.0.2.2,4.1,,,\n"
      "D,192.0.2.4,4.1,al,,\n"
      "E,192.0.2.5,4.1,all,,\n",
      {}, {}, &tree.fleet);
  INFO(misfits(sheet));
  REQUIRE(sheet.known.size() == 2);
  CHECK(sheet.known[0].differing.empty());
  REQUIRE(sheet.known[1].differing.size() == 2);
  CHECK(sheet.known[1].differing[0].name == "address");
  CHECK(sheet.known[1].differing[0].in_fleet == "192.0.2.2");
  CHECK(sheet.known[1].differing[1].name == "site.cable-length");
  CHECK(says(misfits(sheet), {"4 : : unit B of the fleet has its address 192.0.2.2 (row)",
                              "5 Groups: al: no group is called al; did you mean all?"}));
  REQUIRE(sheet.units.size() == 1);
  CHECK(sheet.units[0].name() == "E");
  CHECK_FALSE(sheet.fits());
}

TEST_CASE("a broken line is left out and takes no other with it") {
  const Import sheet = import("Name,IP,Notes\nA,192.0.2.1,\"open\nB,192.0.2.2,x\n");
  REQUIRE(sheet.units.size() == 1);
  CHECK(sheet.units[0].name() == "B");
  CHECK(says(misfits(sheet), {"2 : : a quote", "(row)"}));
}

TEST_CASE("10,000 rows are read in a moment, and twenty times the rows take some twenty times as long") {
  const auto took = [](int rows) {
    std::string text = "Name,IP,Lat,Long,Cable (ft),Install Date,Notes\n";
    for (int i = 0; i < rows; ++i) {
      text += "LK " + std::to_string(i) + ",10." + std::to_string(i / 65536) + "." +
              std::to_string(i / 256 % 256) + "." + std::to_string(i % 256) +
              ",54.9,-20.03,120,soon,\"a note, quoted\"\n";
    }
    const auto start = std::chrono::steady_clock::now();
    const Import sheet = import(text);
    CHECK(sheet.units.size() == static_cast<std::size_t>(rows));
    CHECK(units_csv_text(sheet.units, "x.csv").size() > 1000);
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  };
  const double few = took(500);
  const double many = took(10000);
  INFO(few << " s, " << many << " s");
  CHECK(many < 10);             // some 0.2 s optimised; room for a busy machine
  CHECK(many < 100 * few + 1);  // quadratic would be 400
}
