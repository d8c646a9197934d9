// Ninety nights of a small fleet: units drift, fall silent and come back, we mend some of them, records are
// thinned. What the records say afterwards is held against a book that the test keeps itself.

#include <filesystem>
#include <random>
#include <sstream>

#include "catch.h"
#include "change/district.h"
#include "records/change_record.h"
#include "records/thinning.h"
#include "report/kept_audit.h"
#include "report/night_summary.h"
#include "report/standing.h"

using namespace vergeset;
using namespace vergeset::test;

namespace {

constexpr std::int64_t day_ms = 86400000;
constexpr std::int64_t noon_ms = day_ms / 2;

std::int64_t utc_night(std::int64_t milliseconds) {
  return (milliseconds + noon_ms) / day_ms;
}

/// The units of a small fleet, of both standards by turns.
std::map<std::string, std::string> many_units(int count) {
  auto files = two_units();
  std::string units = "units:\n";
  for (int i = 1; i <= count; ++i) {
    units += fmt::format("  LK-{}: {{address: 127.77.0.{}, port: 16161, model: {}}}\n", 100 + i, i,
                         i % 2 == 0 ? "rsu-4.1" : "ntcip1218-v01");
  }
  files["units.yaml"] = units;
  return files;
}

/// What the test did, night by night.
struct Book {
  std::map<std::string, std::vector<report::Stood>> stood;
  std::map<std::string, std::vector<bool>> changed;
};

class Nights {
 public:
  Nights()
      : folder_(std::string(BINARY_DIR) + "/ninety-nights"),
        disk((std::filesystem::remove_all(folder_), folder_)) {
    operating(district);
    // The first night begins with all as the files ask.
    REQUIRE(district.apply().units.size() == district.fleet.units.size());
    sleep_until(utc_night(district.network.now_ms()) * day_ms + day_ms + 2 * day_ms / 24);
  }
  ~Nights() { std::filesystem::remove_all(folder_); }

  /// One night: what happened by day, and the audit at two in the morning.
  void night(bool first) {
    std::set<std::string> ours;
    if (!first) {
      by_day();
      ours = mend();
    }
    const std::int64_t begun = now();
    const auto audited = change::audit(world, all_units(), "audit", 16);
    records::AuditHead head;
    head.fleet = district.fleet.name;
    head.part = "whole";
    head.begun = records::stamp(begun);
    head.ended = records::stamp(now());
    records::AuditText text;
    for (const change::Audited& unit : audited) text.add(report::kept(unit));
    records::keep_audit(disk, head, text);
    for (const fleet::Unit& unit : district.fleet.units) {
      book.stood[unit.name].push_back(silent_.count(unit.name) > 0    ? report::Stood::no_answer
                                      : drifted_.count(unit.name) > 0 ? report::Stood::drifted
                                                                      : report::Stood::agrees);
      book.changed[unit.name].push_back(ours.count(unit.name) > 0);
    }
  }

  void sleep_a_day() { sleep_until(utc_night(now()) * day_ms + day_ms + 2 * day_ms / 24); }
  std::int64_t now() const { return district.network.now_ms(); }

  report::Standing standing(std::size_t nights) const {
    report::StandingMaker maker(district.fleet, all_units(), nights, now(), utc_night(now()), utc_night);
    const auto audits = records::all_audits(disk);
    for (auto path = audits.rbegin(); path != audits.rend(); ++path)
      maker.take_audit(*path, *disk.read(*path));
    for (records::ChangeRecord& change : records::all_changes(disk)) maker.take_change(std::move(change));
    return maker.take();
  }

  District district{many_units(8)};
  Book book;

 private:
  std::string folder_;

 public:
  records::FolderDisk disk;
  change::World world{district.network, disk, district.clock, district.fleet,
                      [](const fleet::Unit&) { return nullptr; }};

 private:
  std::vector<const fleet::Unit*> all_units() const {
    std::vector<const fleet::Unit*> units;
    for (const fleet::Unit& unit : district.fleet.units) units.push_back(&unit);
    return units;
  }

  bool chance(int percent) { return static_cast<int>(dice_() % 100) < percent; }

  void by_day() {
    for (const fleet::Unit& unit : district.fleet.units) {
      const std::string where = District::where(unit);
      if (const auto silent = silent_.find(unit.name); silent != silent_.end()) {
        if (!chance(40)) continue;
        district.network.units.emplace(where, std::move(silent->second));
        silent_.erase(silent);
      } else if (chance(3)) {
        silent_.emplace(unit.name, std::move(district.network.units.at(where)));
        district.network.units.erase(where);
      } else if (drifted_.count(unit.name) == 0 && chance(4)) {
        for (const fleet::DesiredValue& value : unit.desired.values) {
          if (value.name == "position-tolerance") district.put(unit.name, value.object->name, 0, "7");
        }
        drifted_.insert(unit.name);
      }
    }
  }

  /// On some evenings those that drifted, and answer, are brought into line.
  std::set<std::string> mend() {
    if (!chance(25)) return {};
    std::vector<change::UnitGoal> goals;
    std::set<std::string> names;
    for (const fleet::Unit& unit : district.fleet.units) {
      if (drifted_.count(unit.name) == 0 || silent_.count(unit.name) > 0) continue;
      goals.push_back({&unit, change::goal_of_files(district.fleet, unit)});
      names.insert(unit.name);
    }
    if (goals.empty()) return {};
    change::ApplyOptions options;
    options.kind = "apply";
    options.who = "robin@desk";
    const auto previews = change::preview(world, goals, false, 16);
    const auto result = change::apply(world, goals, previews, options);
    for (const auto& unit : result.units) REQUIRE(unit.outcome == change::Outcome::settled);
    for (const std::string& name : names) drifted_.erase(name);
    return names;
  }

  void sleep_until(std::int64_t time) {
    const auto begin = [&](std::size_t) {
      return district.network.sleep(std::chrono::milliseconds(time - now()));
    };
    district.network.run_each(1, begin, 1);
  }

  std::mt19937 dice_{20261126};
  std::map<std::string, sim::SimUnit> silent_;
  std::set<std::string> drifted_;
};

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

std::string line_with(const std::string& text, const std::string& begin) {
  for (const std::string& line : lines_of(text)) {
    if (line.rfind(begin, 0) == 0) return line;
  }
  return {};
}

/// Of the units that a line may name: no other is named, and as many as it has room for.
void names_these(const std::string& line, const std::set<std::string>& names, const Book& book) {
  std::size_t named = 0;
  for (const auto& [unit, stood] : book.stood) {
    const bool is_named = line.find(unit) != std::string::npos;
    if (is_named) {
      INFO(line << ": " << unit);
      CHECK(names.count(unit) == 1);
      ++named;
    }
  }
  INFO(line);
  CHECK(named == std::min<std::size_t>(names.size(), names.size() > 4 ? 3 : 4));
}

}  // namespace

TEST_CASE("over ninety nights strips, summaries and thinning tell and keep what happened") {
  Nights nights;
  const records::Ages ages{20, 60, 30, 10};
  int unfinished = 0;
  for (int night = 0; night < 90; ++night) {
    if (night > 0) nights.sleep_a_day();
    nights.night(night == 0);
    INFO("night " << night);
    // The summary of the morning: what is not as the night before, and nothing else.
    const report::Standing now = nights.standing(2);
    const std::string summary = report::night_summary(now);
    INFO(summary);
    CHECK(lines_of(summary).size() <= 5);
    CHECK_THAT(lines_of(summary).front(), Catch::EndsWith("8 of 8 units audited"));
    std::set<std::string> drifted;
    std::set<std::string> lost;
    std::set<std::string> back;
    std::set<std::string> changed;
    for (const auto& [unit, stood] : nights.book.stood) {
      const report::Stood tonight = stood.back();
      const report::Stood before = night == 0 ? report::Stood::not_audited : stood[stood.size() - 2];
      // A unit that was silent last night and had drifted before says so again: last night nothing was known.
      if (tonight == report::Stood::drifted && tonight != before) drifted.insert(unit);
      if (tonight == report::Stood::no_answer && tonight != before) lost.insert(unit);
      if (tonight == report::Stood::agrees && tonight != before && night > 0) back.insert(unit);
      if (nights.book.changed[unit].back()) changed.insert(unit);
    }
    names_these(line_with(summary, "drifted: "), drifted, nights.book);
    names_these(line_with(summary, "no answer: "), lost, nights.book);
    names_these(line_with(summary, "agree again: "), back, nights.book);
    CHECK((summary.find("by us: ") != std::string::npos) == !changed.empty());

    // A change that was broken off in the tenth night, and that nobody recovers.
    if (night == 10) {
      unfinished = records::take_change_number(nights.disk);
      records::ChangeRecord change;
      change.number = unfinished;
      change.kind = "apply";
      change.fleet = nights.district.fleet.name;
      change.begun = records::stamp(nights.now());
      change.units = {{"LK-101", "held", "", 0, 0}};
      nights.disk.write_whole(records::change_path(unfinished, "change.yaml"), to_yaml(change));
      nights.disk.write_whole(records::change_path(unfinished, "LK-101.snapshot.yaml"), "kept\n");
    }
    records::thin(nights.disk, ages, nights.now(), true);
  }

  const report::Standing whole = nights.standing(92);
  std::size_t drifts = 0;
  std::size_t changes = 0;
  for (const report::UnitStanding& unit : whole.units) {
    INFO(unit.unit->name);
    const auto& stood = nights.book.stood[unit.unit->name];
    const auto& changed = nights.book.changed[unit.unit->name];
    REQUIRE(unit.nights.size() == 92);
    for (std::size_t i = 0; i < 90; ++i) {
      INFO("night " << i);
      const bool kept = i >= 30;  // sixty days of nights
      CHECK(unit.nights[i + 2] == (kept ? stood[i] : report::Stood::not_audited));
      CHECK(unit.changed[i + 2] == changed[i]);  // the account of changes is never thinned
      drifts += kept && stood[i] == report::Stood::drifted ? 1 : 0;
      changes += changed[i] ? 1 : 0;
    }
  }
  CHECK(drifts > 10);
  CHECK(changes > 5);

  std::size_t cut = 0;
  const auto audits = records::all_audits(nights.disk);
  CHECK(audits.size() == 60);
  for (const std::string& path : audits)
    cut += records::find_audit(nights.disk, path)->head.cut.empty() ? 0 : 1;
  CHECK(cut == 40);
  CHECK(nights.disk.read(records::change_path(unfinished, "LK-101.snapshot.yaml")) == "kept\n");
  for (const records::ChangeRecord& change : records::all_changes(nights.disk)) {
    const bool old =
        !change.ended.empty() && *records::milliseconds_of(change.ended) < nights.now() - 30 * day_ms;
    bool has_snapshots = false;
    for (const std::string& name : nights.disk.list("changes/" + records::change_name(change.number)))
      has_snapshots = has_snapshots || name.ends_with(".snapshot.yaml");
    INFO("change " << change.number);
    CHECK(has_snapshots == !old);
    CHECK(nights.disk.read(records::change_path(change.number, "change.yaml")));
  }
  for (const auto& [name, stood] : nights.book.stood) {
    const std::string log = nights.disk.read("units/" + name + ".log").value_or("");
    const auto first = records::milliseconds_of(log.substr(0, 24));
    REQUIRE(first);
    CHECK(*first >= nights.now() - 10 * day_ms - 60000);
  }
}
