#include <filesystem>
#include <fstream>
#include <sstream>

#include "change/compare.h"
#include "change/draft_tree.h"
#include "district.h"
#include "smi/form.h"

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
    for (const change::Audited& unit : read) all.push_back({unit.unit, &unit.found, false});
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
  // One line a value would be ten times as long.
  CHECK(made->draft.values > 3500);
  CHECK(made->lines < 400);
}

namespace {

/// Draws by a seed alone.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : state_(seed * 2654435761U + 1) {}
  std::uint64_t below(std::uint64_t count) {
    state_ ^= state_ << 13U;
    state_ ^= state_ >> 7U;
    state_ ^= state_ << 17U;
    return (state_ >> 11U) % count;
  }
  template <class T>
  const T& one_of(const std::vector<T>& all) {
    return all[below(all.size())];
  }
  std::string octets(std::size_t count) {
    std::string out;
    for (; count > 0; --count) out += static_cast<char>(below(256));
    return out;
  }

 private:
  std::uint64_t state_;
};

/// Texts that a careless writer of YAML would read back as something else, or that substitution would take.
const std::vector<std::string> traps{
    "no",      "yes",      "1e3",    "0x10",      "007",      "~",         "null",      "a: b",
    ": ",      "a:",       "- a",    "# a",       "a # b",    "{unit}",    "{{unit}}",  "}{",
    "{",       "}",        "[a, b]", "a, b",      "'a'",      "\"a\"",     "\\n",       "\\x41",
    "&a",      "*a",       "!a",     "|",         ">",        "%a",        "@a",        "`a`",
    " a",      "a ",       "  ",     "?",         "? a",      "<<",        "none",      "12:30:45",
    "2026-01", "1_000",    ".inf",   "=",         "{site.x}", "{file: a}", "a\tb",      "a\nb",
    "a\r\nb",  "\x01\x1f", "\x7f",   "\x1b[31mx", "\r\n",     "a\n---\nb", "{address}", "on",
    "",        "---",      "...",    "0",         "LK-101",   "-",         "+1",        "1 m",
};

std::string date_time(Dice& dice, bool zone) {
  std::string text;
  const std::uint64_t year = 2000 + dice.below(90);
  text += static_cast<char>(year / 256);
  text += static_cast<char>(year % 256);
  text += static_cast<char>(1 + dice.below(12));
  text += static_cast<char>(1 + dice.below(28));
  text += static_cast<char>(dice.below(24));
  text += static_cast<char>(dice.below(60));
  text += static_cast<char>(dice.below(60));
  text += static_cast<char>(dice.below(10));
  if (!zone) return text;
  text += dice.below(2) == 0 ? '+' : '-';
  text += static_cast<char>(dice.below(13));
  text += static_cast<char>(dice.below(60));
  return text;
}

std::size_t size_for(Dice& dice, const smi::Syntax& syntax) {
  const auto& ranges = smi::ranges_of(syntax);
  const smi::Range range = ranges[dice.below(ranges.size())];
  const std::int64_t high = std::min<std::int64_t>(range.high, 2302);
  const std::uint64_t draw = dice.below(4);
  if (draw == 0) return static_cast<std::size_t>(range.low);
  if (draw == 1) return static_cast<std::size_t>(high);
  return static_cast<std::size_t>(range.low +
                                  static_cast<std::int64_t>(dice.below(static_cast<std::uint64_t>(
                                      std::min<std::int64_t>(high, range.low + 40) - range.low + 1))));
}

std::string octets_for(Dice& dice, const smi::Syntax& syntax) {
  switch (syntax.form) {
    case smi::Form::psid:
      return *smi::p_encode(static_cast<std::uint32_t>(dice.below(0x10204080)));
    case smi::Form::date_time:
      return dice.below(5) == 0 ? std::string(8, '\0') : date_time(dice, dice.below(2) == 0);
    case smi::Form::minute_stamp:
      return dice.below(5) == 0 ? "" : date_time(dice, false).substr(0, 6);
    case smi::Form::time_of_day:
      return date_time(dice, false).substr(4, 3);
    case smi::Form::address_text:
      return dice.one_of(std::vector<std::string>{"192.0.2.1", "2001:db8::1", "2001:DB8:0::1", "::", "",
                                                  "0.0.0.0", "::ffff:192.0.2.7"});
    case smi::Form::address_octets:
      return dice.below(2) == 0 ? std::string(10, '\0') + "\xff\xff" + dice.octets(4) : dice.octets(16);
    case smi::Form::display_string:
      return dice.one_of(traps);
    case smi::Form::bits: {
      std::string octets(1 + dice.below(2), '\0');
      const smi::Label& label = dice.one_of(syntax.labels);
      octets.resize(std::max<std::size_t>(octets.size(), static_cast<std::size_t>(label.number / 8 + 1)));
      octets[static_cast<std::size_t>(label.number / 8)] = static_cast<char>(0x80U >> (label.number % 8));
      return octets;
    }
    default:
      return dice.octets(size_for(dice, syntax));
  }
}

/// A value that the syntax allows, its edges included. Nothing where a draw was none.
std::optional<smi::Value> legal(Dice& dice, const smi::Syntax& syntax) {
  smi::Value value;
  if (syntax.form == smi::Form::object_id) return std::nullopt;
  if (syntax.form == smi::Form::row_status) return smi::Value::integer(1);
  if (syntax.form == smi::Form::enumeration) {
    value = smi::Value::integer(dice.one_of(syntax.labels).number);
  } else if (syntax.wire() == smi::Type::octet_string) {
    value = syntax.form == smi::Form::octet_number
                ? smi::Value::of_octets({static_cast<char>(dice.below(129))})
                : smi::Value::of_octets(octets_for(dice, syntax));
  } else if (syntax.wire() == smi::Type::ip_address) {
    value = {smi::Type::ip_address, 0, dice.octets(4), {}};
  } else {
    const smi::Range range = dice.one_of(smi::ranges_of(syntax));
    const auto width = static_cast<std::uint64_t>(range.high - range.low) + 1;
    const std::uint64_t draw = dice.below(4);
    const std::int64_t number = draw == 0   ? range.low
                                : draw == 1 ? range.high
                                            : range.low + static_cast<std::int64_t>(dice.below(width));
    value = smi::Value::of_number(syntax.wire(), number);
  }
  if (smi::violation(syntax, value)) return std::nullopt;
  return value;
}

std::optional<smi::Value> legal_after_some(Dice& dice, const smi::Syntax& syntax) {
  for (int i = 0; i < 30; ++i) {
    if (auto value = legal(dice, syntax)) return value;
  }
  return std::nullopt;
}

/// Some message of each kind, so that a row and its payload go together.
std::string message(Dice& dice) {
  const std::string kind =
      dice.one_of(std::vector<std::string>{{"\0\x12", 2}, {"\0\x13", 2}, {"\0\x1f", 2}, {"\0\x63", 2}});
  return kind + dice.octets(1 + dice.below(60));
}

void set_row(Dice& dice, change::AsFound& found, const schema::Table& table, std::uint32_t index) {
  const std::string payload = message(dice);
  for (const schema::Object* column : table.columns) {
    auto value = legal_after_some(dice, column->syntax);
    if (column->name == table.index || !value) continue;
    if (column == table.status) value = smi::Value::integer(dice.below(8) == 0 ? 4 : 1);
    if (column->common == "payload") value = smi::Value::of_octets(payload);
    if (column->common == "message") value = smi::Value::integer(static_cast<unsigned char>(payload[1]));
    found.instances[column->oid.child(index)] = *value;
  }
}

/// A unit with legal values in everything that can be set, as like to those before as the dice have it.
change::AsFound drawn(Dice& dice, const schema::Model& model, const change::AsFound* like) {
  change::AsFound found;
  const bool is_like = like != nullptr && dice.below(3) > 0;
  if (is_like) found = *like;
  const std::uint64_t changed = is_like ? 8 : 1;
  for (const auto& [name, object] : model.objects) {
    if (object.table != nullptr || dice.below(changed) != 0) continue;
    if (auto value = legal_after_some(dice, object.syntax)) found.instances[object.oid.child(0)] = *value;
    // A unit that is asked for a mode and has not reached it never agrees.
    const bool mode = model.mode && (model.mode->asked == &object || model.mode->status == &object);
    if (mode)
      found.instances[object.oid.child(0)] = smi::Value::integer(
          model.mode->asked == &object ? model.mode->standby : model.mode->status_standby);
    if (dice.below(20) == 0)
      found.instances[object.oid.child(0)] = smi::Value::of_number(smi::Type::no_such_object, 0);
  }
  for (const auto& [name, table] : model.tables) {
    // A unit holds no more rows than it says.
    if (table.most != nullptr) found.instances.erase(table.most->oid.child(0));
    const std::uint64_t rows = dice.below(4);
    for (std::uint64_t row = 0; row < rows && dice.below(changed) == 0; ++row)
      set_row(dice, found, table, static_cast<std::uint32_t>(1 + dice.below(5)));
    // Rows like another's, told apart by their index alone.
    if (table.status == nullptr || dice.below(6) != 0) continue;
    for (const schema::Object* column : table.columns) {
      const smi::Value value = found.at(column->oid.child(1));
      if (!value.absent()) found.instances[column->oid.child(7)] = value;
    }
  }
  return found;
}

std::map<std::string, std::string> bare_files(std::size_t units, bool both) {
  std::string csv = "unit,model,address,site.place,site.pole\n";
  for (std::size_t i = 0; i < units; ++i)
    csv += fmt::format("LK-{},{},127.77.2.{},Mill Lane,pole {}\n", 101 + i,
                       both && i % 2 == 1 ? "rsu-4.1" : "ntcip1218-v01", i + 1, i);
  return {
      {"fleet.yaml",
       "fleet: Larkmoor\ncredentials:\n  a: {user: a, auth-secret: {env: A}, privacy-secret: {env: B}}\n"},
      {"units.csv", csv}};
}

/// A fleet of which the units are said to be so, without a network.
struct Told {
  explicit Told(const std::map<std::string, std::string>& files) : folder(files) {
    Faults faults;
    fleet = fleet::load_fleet(folder.path(), SOURCE_DIR "/schemas", faults);
    for (const Fault& fault : faults.sorted()) UNSCOPED_INFO(fault.str());
    REQUIRE_FALSE(faults.any());
  }
  Result<change::DraftedTree> draft() {
    std::vector<change::ToDescribe> all;
    for (const auto& [name, one] : found) all.push_back({fleet.unit(name), &one, false});
    return change::draft_tree(fleet, all, {SOURCE_DIR "/schemas", "as-found", folder.path() + "/drafted"});
  }
  fleet::Fleet drawn_fleet() const {
    Faults faults;
    fleet::Fleet drawn = fleet::load_fleet(folder.path() + "/drafted", SOURCE_DIR "/schemas", faults);
    for (const Fault& fault : faults.sorted()) UNSCOPED_INFO(fault.str());
    REQUIRE_FALSE(faults.any());
    return drawn;
  }
  void put(const std::string& unit, const std::string& object, std::uint32_t index, smi::Value value) {
    found[unit].instances[fleet.unit(unit)->model->object(object)->oid.child(index)] = std::move(value);
  }
  void text(const std::string& unit, const std::string& object, const std::string& value) {
    put(unit, object, 0, smi::Value::of_octets(value));
  }

  test::FleetFolder folder;
  fleet::Fleet fleet;
  std::map<std::string, change::AsFound> found;
};

/// Of all that a unit was found with and that can be set: how many could be another value, and a comparison
/// with the drafted files would not tell.
std::vector<std::string> not_asked(Dice& dice, const fleet::Unit& unit, const change::AsFound& found) {
  std::vector<std::string> names;
  change::AsFound other = found;
  for (auto& [instance, value] : other.instances) {
    const schema::Object* const object = unit.model->object_at(instance);
    const bool status = object != nullptr && object->table != nullptr && object->table->status == object;
    if (object == nullptr || value.absent() || !object->configuration() || status) continue;
    const smi::Value before = value;
    for (int i = 0; i < 20 && smi::agree(object->syntax, before, value); ++i) {
      if (auto drawn = legal_after_some(dice, object->syntax)) value = *std::move(drawn);
    }
    if (!smi::agree(object->syntax, before, value) && change::compare(unit, other).agrees())
      names.push_back(unit.model->name_of(instance));
    value = before;
  }
  return names;
}

}  // namespace

TEST_CASE("whatever legal values units of both models were found with, the draft asks for exactly these") {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    INFO("seed " << seed);
    Dice dice(seed);
    const std::size_t count = 1 + dice.below(7);
    Told told(bare_files(count, dice.below(3) > 0));
    std::map<const schema::Model*, const change::AsFound*> before;
    for (const fleet::Unit& unit : told.fleet.units) {
      told.found[unit.name] = drawn(dice, *unit.model, before[unit.model]);
      before[unit.model] = &told.found[unit.name];
    }
    const auto made = told.draft();
    INFO((made ? "" : made.problem()));
    REQUIRE(made);
    for (const auto& one : made->not_described) {
      for (const change::Difference& difference : one.left.differences)
        UNSCOPED_INFO(one.unit << " " << difference.title());
      for (const std::string& obstacle : one.left.obstacles) UNSCOPED_INFO(one.unit << " " << obstacle);
    }
    REQUIRE(made->not_described.empty());
    const fleet::Fleet drawn = told.drawn_fleet();
    for (const auto& [name, found] : told.found) {
      INFO(name);
      CHECK(change::compare(*drawn.unit(name), found).agrees());
      CHECK(not_asked(dice, *drawn.unit(name), found) == std::vector<std::string>());
    }
    for (const change::NotDrafted& one : made->draft.left_out)
      UNSCOPED_INFO(one.unit << " " << one.what << " " << one.why);
    CHECK(made->draft.left_out.empty());
  }
}

TEST_CASE("texts that YAML or substitution would take for something else come back as they were found") {
  for (const std::string& trap : traps) {
    INFO(smi::to_hex(trap));
    Told told(bare_files(2, true));
    for (const char* unit : {"LK-101", "LK-102"}) {
      told.text(unit, "sysContact", trap);
      told.text(unit, "sysLocation", unit + trap);
    }
    const auto made = told.draft();
    REQUIRE(made);
    CHECK(made->draft.left_out.empty());
    const fleet::Fleet drawn = told.drawn_fleet();
    for (const auto& [name, found] : told.found) {
      CHECK(change::compare(*drawn.unit(name), found).agrees());
      CHECK(drawn.unit(name)->desired.values.size() == 2);
    }
  }
}

TEST_CASE("what no file can ask for is told and not compared, and the others still share theirs") {
  Told told(bare_files(4, false));
  for (const char* unit : {"LK-101", "LK-102", "LK-103", "LK-104"})
    told.text(unit, "sysContact", "signals desk");
  told.text("LK-103", "sysContact", "caf\xe9");  // no NVT ASCII (RFC 2579, DisplayString)
  const auto made = told.draft();
  REQUIRE(made);
  REQUIRE(made->draft.left_out.size() == 1);
  CHECK(made->draft.left_out[0].unit == "LK-103");
  CHECK(made->draft.left_out[0].what == "system-contact");
  CHECK_THAT(made->draft.left_out[0].why, Catch::Contains("not ASCII"));
  CHECK(made->described.size() == 4);
  const fleet::Fleet drawn = told.drawn_fleet();
  for (const auto& [name, found] : told.found) CHECK(change::compare(*drawn.unit(name), found).agrees());
  CHECK(made->draft.in_groups == 1);
  CHECK_THAT(read_whole(told.folder.path() + "/drafted/units.yaml"),
             Catch::Contains("sysContact: {ignored: yes}"));
}

TEST_CASE("a unit that is not as it is asked to be keeps its entry, and the others are drafted") {
  Told told(bare_files(3, false));
  const schema::ModeRule& rule = *told.fleet.units.front().model->mode;
  for (const char* unit : {"LK-101", "LK-102", "LK-103"}) {
    told.put(unit, rule.asked->name, 0, smi::Value::integer(rule.operate));
    told.put(unit, rule.status->name, 0, smi::Value::integer(rule.status_operate));
  }
  told.put("LK-102", rule.status->name, 0, smi::Value::integer(rule.status_standby));
  const auto made = told.draft();
  REQUIRE(made);
  CHECK(made->described == std::vector<std::string>{"LK-101", "LK-103"});
  REQUIRE(made->not_described.size() == 1);
  CHECK(made->not_described[0].unit == "LK-102");
  CHECK(made->not_described[0].left.differences.at(0).name == "mode");
  CHECK_THAT(read_whole(told.folder.path() + "/drafted/units.csv"),
             Catch::Contains("LK-102") && !Catch::Contains("LK-101"));
}

TEST_CASE("nothing is written where a folder is there already, or a group of that name") {
  Told told(bare_files(1, false));
  told.text("LK-101", "sysContact", "signals desk");
  std::filesystem::create_directories(told.folder.path() + "/drafted");
  const auto before = files_below(told.folder.path());
  const auto made = told.draft();
  REQUIRE_FALSE(made);
  CHECK_THAT(made.problem(), Catch::Contains("is there already"));
  CHECK(files_below(told.folder.path()) == before);
  told.folder.write("groups/as-found-map.yaml", "settings: {}\n");
  std::filesystem::remove(told.folder.path() + "/drafted");
  Told other(files_below(told.folder.path()));
  CHECK_THAT(other.draft().problem(), Catch::Contains("as-found-map") && Catch::Contains("--as"));
}

TEST_CASE(
    "settings that the fleet asks for already are not repeated, and rows that its groups ask for keep their "
    "names") {
  auto files = test::two_units();
  files["groups/signals.yaml"] = "settings:\n  notify-port: 162\n";
  files["units.yaml"] = R"(# Who looks after them: the signals desk.
units:
  # The first of all.
  LK-101:
    address: 127.77.0.1
    port: 16161
    model: ntcip1218-v01
    groups: [signals]
    site: {place: Ferry Street}
    settings: {position-tolerance: 40 m}
    traits: {rsuMsgRepeatStatusTable: {needs-standby: yes}}
  LK-102: {address: 127.77.0.2, port: 16161, model: rsu-4.1}   # beside the school
  # Not answering since May.
  LK-103:
    address: 127.77.0.3
    model: rsu-4.1
    settings: {position-tolerance: 17 m}
)";
  Told told(files);
  const std::string payload("\0\x12\x02\0\0", 5);
  const auto put = [&](const std::string& object, const std::string& text, std::uint32_t index = 0) {
    const schema::Object& found = *told.fleet.unit("LK-101")->model->object(object);
    told.put("LK-101", object, index, *smi::encode(found.syntax, text));
  };
  put("rsuID", "LK-101");
  put("rsuNotifyIpAddress", "192.0.2.10");
  put("rsuNotifyPort", "163");
  put("rsuGnssMaxDeviation", "15");
  put("rsuMode", "operate");
  put("rsuModeStatus", "operate");
  put("rsuMsgRepeatPsid", "0x82", 4);
  put("rsuMsgRepeatTxChannel", "176", 4);
  put("rsuMsgRepeatTxInterval", "1000", 4);
  put("rsuMsgRepeatDeliveryStart", "2026-01-01T00:00Z", 4);
  put("rsuMsgRepeatDeliveryStop", "2036-01-01T00:00Z", 4);
  told.put("LK-101", "rsuMsgRepeatPayload", 4, smi::Value::of_octets(payload));
  put("rsuMsgRepeatEnable", "on", 4);
  put("rsuMsgRepeatStatus", "active", 4);
  told.found["LK-102"] = {};
  told.text("LK-102", "rsuID", "LK-102");
  const auto made = told.draft();
  INFO((made ? "" : made.problem()));
  REQUIRE(made);
  CHECK(made->not_described.empty());
  const std::string units = read_whole(told.folder.path() + "/drafted/units.yaml");
  INFO(units);
  CHECK(units == R"(# Who looks after them: the signals desk.
units:
  # The first of all.
  LK-101:
    address: 127.77.0.1
    port: 16161
    model: ntcip1218-v01
    groups: [signals, as-found]
    site:
      place: Ferry Street
    settings:
      notify-port: 163
    tables:
      store-and-repeat:
        rows:
          map: {channel: 176}
    traits:
      rsuMsgRepeatStatusTable: {needs-standby: yes}
  LK-102:
    address: 127.77.0.2
    port: 16161
    model: rsu-4.1
    groups: [as-found]
    tables:
      store-and-repeat:
        rows:
          map: {present: no}
  # Not answering since May.
  LK-103:
    address: 127.77.0.3
    model: rsu-4.1
    settings: {position-tolerance: 17 m}
)");
}

TEST_CASE("secrets and keys are not copied, and are told") {
  auto files = bare_files(1, false);
  files["fleet.yaml"] =
      "fleet: Larkmoor\ncredentials:\n  a: {user: a, auth-secret: {file: keys/auth}, privacy-secret: {env: "
      "B}}\n"
      "key-store: {file: keys/store}\n";
  files["keys/auth"] = "mark-of-a-secret\n";
  files["keys/store"] = "mark-of-a-secret\n";
  Told told(files);
  told.text("LK-101", "sysContact", "signals desk");
  const auto made = told.draft();
  REQUIRE(made);
  CHECK(made->staying == std::vector<std::string>{"keys/store", "keys/auth"});
  for (const auto& [file, text] : files_below(told.folder.path() + "/drafted")) {
    INFO(file);
    CHECK(text.find("mark-of-a-secret") == std::string::npos);
  }
}

TEST_CASE("of a table that a walk does not reach no file says that its rows are to be gone") {
  Told told(test::two_units());
  told.text("LK-101", "sysContact", "signals desk");
  told.found["LK-102"] = {};
  std::vector<change::ToDescribe> walked{{told.fleet.unit("LK-101"), &told.found.at("LK-101"), true}};
  const auto made = change::draft_tree(told.fleet, walked,
                                       {SOURCE_DIR "/schemas", "as-found", told.folder.path() + "/drafted"});
  REQUIRE(made);
  CHECK_THAT(read_whole(told.folder.path() + "/drafted/units.yaml"), !Catch::Contains("present"));
}

TEST_CASE("a row that is not active is told, and stays as one that nobody asked for") {
  Told told(bare_files(2, false));
  for (const char* unit : {"LK-101", "LK-102"}) {
    told.put(unit, "rsuMsgRepeatPsid", 1, smi::Value::of_octets("\x20"));
    told.put(unit, "rsuMsgRepeatTxChannel", 1, smi::Value::integer(183));
    told.put(unit, "rsuMsgRepeatStatus", 1, smi::Value::integer(unit == std::string("LK-101") ? 1 : 2));
  }
  const auto made = told.draft();
  REQUIRE(made);
  CHECK(made->described.size() == 2);
  REQUIRE(made->draft.left_out.size() == 1);
  CHECK(made->draft.left_out[0].unit == "LK-102");
  CHECK(made->draft.left_out[0].what == "store-and-repeat row 1");
  CHECK(told.drawn_fleet().unit("LK-102")->desired.tables.empty());
}

TEST_CASE("what names a unit's site or its own file is not asked of units that have neither") {
  auto files = bare_files(4, false);
  files["units.csv"] += "LK-105,ntcip1218-v01,127.77.2.5,,\n";
  Told told(files);
  int number = 1;
  for (const char* unit : {"LK-101", "LK-102", "LK-103", "LK-104"}) {
    told.text(unit, "sysLocation", "Mill Lane");
    told.text(unit, "sysContact", std::string("signals\r\n") + std::to_string(number++));
  }
  told.text("LK-105", "rsuID", "LK-105");
  const auto made = told.draft();
  INFO((made ? "" : made.problem()));
  REQUIRE(made);
  CHECK(made->described.size() == 5);
}
