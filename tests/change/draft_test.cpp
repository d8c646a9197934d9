#include <filesystem>
#include <fstream>
#include <sstream>

#include "change/compare.h"
#include "change/draft_tree.h"
#include "district.h"

/// A fleet is made from what its units were found with, and an audit by it says that all agree.
namespace {

using namespace vergeset;
namespace fs = std::filesystem;

std::string read_whole(const fs::path& path) {
  std::ifstream stream(path, std::ios::binary);
  std::stringstream text;
  text << stream.rdbuf();
  return text.str();
}

std::map<std::string, std::string> files_below(const fs::path& folder) {
  std::map<std::string, std::string> files;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    if (entry.is_regular_file())
      files[fs::relative(entry.path(), folder).string()] = read_whole(entry.path());
  }
  return files;
}

std::size_t lines_in(const std::string& text) {
  return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

/// The fleet.yaml of Larkmoor without what it asks of its units.
std::string bare_fleet_file(const std::string& whole) {
  return whole.substr(0, whole.find("\nvalues:"));
}

/// A spreadsheet of the same units that says where they are and what, and nothing of how they are set.
std::string bare_csv(const fleet::Fleet& fleet) {
  std::string text = "unit,model,address,site.place,site.pole,site.latitude,site.longitude,site.elevation\n";
  for (const fleet::Unit& unit : fleet.units) {
    text += fmt::format("{},{},{}", unit.name, unit.model->name, unit.host);
    for (const char* field : {"place", "pole", "latitude", "longitude", "elevation"})
      text += fmt::format(",\"{}\"", unit.site.fields.at(field));
    text += "\n";
  }
  return text;
}

/// A fleet that units are drafted from, with the network of the units as they are.
struct Field {
  Field(const std::map<std::string, std::string>& files, test::District& of) : folder(files) {
    Faults faults;
    fleet = fleet::load_fleet(folder.path(), SOURCE_DIR "/schemas", faults);
    for (const Fault& fault : faults.sorted()) UNSCOPED_INFO(fault.str());
    REQUIRE_FALSE(faults.any());
    const change::World world{of.network, disk, of.clock, fleet, [](const fleet::Unit&) { return nullptr; }};
    std::vector<const fleet::Unit*> units;
    for (const fleet::Unit& unit : fleet.units) units.push_back(&unit);
    read = change::read_units(world, units, true, 16);
    for (const change::Audited& unit : read) {
      INFO(unit.what);
      REQUIRE(unit.verdict == change::Verdict::agrees);
    }
  }

  std::vector<change::ToDescribe> to_describe() const {
    std::vector<change::ToDescribe> all;
    for (const change::Audited& unit : read) all.push_back({unit.unit, &unit.found});
    return all;
  }
  std::string out() const { return folder.path() + "/drafted"; }
  Result<change::DraftedTree> draft(const std::string& group = "as-found") const {
    return change::draft_tree(fleet, to_describe(), {SOURCE_DIR "/schemas", group, out()});
  }
  /// Compares every unit with the drafted files anew.
  std::vector<std::string> differing() const {
    Faults faults;
    const fleet::Fleet drawn = fleet::load_fleet(out(), SOURCE_DIR "/schemas", faults);
    for (const Fault& fault : faults.sorted()) UNSCOPED_INFO(fault.str());
    REQUIRE_FALSE(faults.any());
    std::vector<std::string> names;
    for (const change::Audited& unit : read) {
      if (!change::compare(*drawn.unit(unit.unit->name), unit.found).agrees())
        names.push_back(unit.unit->name);
    }
    return names;
  }

  test::FleetFolder folder;
  test::MemoryDisk disk;
  fleet::Fleet fleet;
  std::vector<change::Audited> read;
};

}  // namespace

TEST_CASE("forty units of Larkmoor are drafted from a bare list of units, and all agree") {
  const auto larkmoor = files_below(SOURCE_DIR "/inventories/larkmoor");
  test::District district(larkmoor);
  test::operating(district);
  const change::ChangeResult applied = district.apply();
  for (const change::UnitResult& unit : applied.units) {
    INFO(unit.unit << ": " << unit.what);
    const bool fine =
        unit.outcome == change::Outcome::settled || unit.outcome == change::Outcome::nothing_to_do;
    REQUIRE(fine);
  }
  const Field field(
      {{"fleet.yaml", bare_fleet_file(larkmoor.at("fleet.yaml"))}, {"units.csv", bare_csv(district.fleet)}},
      district);
  const auto made = field.draft();
  INFO((made ? "" : made.problem()));
  REQUIRE(made);
  CHECK(made->not_described.empty());
  CHECK(made->described.size() == 40);
  CHECK(field.differing().empty());
  if (const char* keep = std::getenv("DRAFT_KEEP")) fs::copy(field.out(), keep, fs::copy_options::recursive);
  CHECK(lines_in(field.out()) < 10);
  WARN(made->draft.values << " values, " << made->lines << " lines");
}
