#include <algorithm>
#include <chrono>
#include <iostream>
#include <map>
#include <nlohmann/json.hpp>

#include "catch.h"
#include "keyed_units.h"
#include "kill.h"

/// The real `vergeset rekey` is killed at every call that leaves a trace, in the records, in the key store or
/// on the wire. Which keys open a unit then is asked with net-snmp's snmpget.
namespace {

using crash::Ended;
using crash::KeyedUnits;
using crash::Point;
using From = KeyedUnits::From;
using Json = nlohmann::json;
using vergeset::tests::StoredKey;
using vergeset::tests::words_of;

const std::vector<std::string> rekey{"rekey", "--yes", "--quiet"};
const std::vector<std::string> recover{"recover"};
constexpr int lanes = 4;
const std::string torn_keys = std::string("torn:") + KeyedUnits::store_name;

Ended vergeset_until(const KeyedUnits& units, const std::vector<std::string>& words, int at,
                     const std::string& how) {
  return units.vergeset(words, crash::ended_at(units.kept(), units.path("calls"), at, how));
}

struct OnRecord {
  std::string outcome;
  std::string what;
};

/// What the records say became of each unit of the change; none where it is not on record.
std::map<std::string, OnRecord> on_record(const KeyedUnits& units, std::string& problem) {
  std::map<std::string, OnRecord> all;
  const Ended ran = units.vergeset({"changes", "--json"});
  const Json document = Json::parse(ran.text, nullptr, false);
  if (document.is_discarded()) {
    problem += "changes: " + ran.text;
    return all;
  }
  for (const Json& change : document.at("changes")) {
    if (change.at("ended") == "") problem += "a change has not ended after recovery\n";
    if (change.at("change") != units.change()) continue;
    for (const Json& unit : change.at("units")) all[unit.at("unit")] = {unit.at("outcome"), unit.at("what")};
  }
  return all;
}

/// The unit has the keys that the store says open it, and nothing else that it had before opens it.
std::string judge_settled(const KeyedUnits& units, const std::string& unit) {
  const StoredKey own = units.store().last(unit, "opens");
  if (own.change < units.change()) return unit + ": no keys of the change are stored as what opens it\n";
  std::string problem;
  if (!units.opens(unit, words_of(own))) problem += unit + ": its new keys do not open it\n";
  if (!units.refuses(unit, units.opener_at_first(unit)))
    problem += unit + ": what opened it before is not refused\n";
  const bool other = units.opener_at_first(unit) != KeyedUnits::factory();
  if (other && !units.refuses(unit, KeyedUnits::factory()))
    problem += unit + ": the factory's user still opens it\n";
  // Nothing of that user is left, its place in a group neither: only ours is in these tables.
  const std::string users = units.users(unit, words_of(own));
  if (std::count(users.begin(), users.end(), '\n') != 2) problem += unit + ": its users are\n" + users;
  return problem;
}

/// The unit is as before the change, and so are its users.
std::string judge_as_before(const KeyedUnits& units, const std::string& unit) {
  const std::string who = units.opener_at_first(unit);
  if (!units.opens(unit, who)) return unit + ": what opened it before does not\n";
  const std::string users = units.users(unit, who);
  return users == units.users_at_first(unit) ? "" : unit + ": its users are not those of before:\n" + users;
}

/// Whether the journal has the step that removes the factory's user: it may have been carried out.
bool removal_begun(const KeyedUnits& units, const std::string& unit) {
  const std::string journal =
      units.records() + "/changes/000" + std::to_string(units.change()) + "/journal.jsonl";
  const std::vector<std::string> lines = crash::lines_of(journal);
  return std::any_of(lines.begin(), lines.end(), [&](const std::string& line) {
    return line.find("\"" + unit + "\"") != std::string::npos &&
           line.find("remove user installer") != std::string::npos;
  });
}

std::string judge_unit(const KeyedUnits& units, const std::string& unit, const OnRecord& record) {
  const std::string& outcome = record.outcome;
  if (outcome == "settled") {
    // A change that ended before the step that removes it leaves the factory's user there, and says so.
    const bool stays = record.what.find("user installer is still there") != std::string::npos;
    if (!stays || removal_begun(units, unit)) return judge_settled(units, unit);
    const StoredKey own = units.store().last(unit, "opens");
    const bool as_told = own.change == units.change() && units.opens(unit, words_of(own)) &&
                         units.opens(unit, KeyedUnits::factory());
    return as_told ? "" : unit + " is not as the records tell: " + record.what + "\n";
  }
  if (outcome.empty() || outcome == "restored" || outcome == "held" || outcome == "refused")
    return judge_as_before(units, unit);
  return unit + " is on record as '" + outcome + "'\n";
}

/// Empty where a stored key opens each unit at once, recovery ends the change, what the records then say of
/// each unit is so, another recovery finds nothing and sends no SET, and another `rekey` settles all units.
std::string judge(const KeyedUnits& units) {
  std::string problem;
  for (const std::string& unit : KeyedUnits::names()) {
    if (units.opener(unit).empty()) problem += unit + ": nothing that is stored opens it\n";
  }
  const Ended first = units.vergeset(recover);
  if (first.status != 0) problem += "recover ended with " + std::to_string(first.status) + "\n";
  const int sets = units.sets();
  const Ended second = units.vergeset(recover);
  if (second.status != 0 || second.text != "nothing to recover\n")
    problem += "a second recover found something:\n" + second.text;
  if (units.sets() != sets) problem += "a second recover sent SETs\n";
  std::map<std::string, OnRecord> records = on_record(units, problem);
  for (const std::string& unit : KeyedUnits::names()) {
    problem += judge_unit(units, unit, records[unit]);
  }
  const Ended again = units.vergeset(rekey);
  if (again.status != 0) problem += "rekey again:\n" + again.text;
  for (const std::string& unit : KeyedUnits::names()) problem += judge_settled(units, unit);
  return problem.empty() ? problem : problem + "recover had said:\n" + first.text;
}

/// What went wrong at a point, or nothing.
std::string at_point(const KeyedUnits& units, const Point& point, int& kills) {
  units.start_over();
  const Ended ran = vergeset_until(units, rekey, point.at, point.how);
  const std::vector<std::string> calls = crash::lines_of(units.path("calls"));
  std::string problem;
  kills += ran.signal == SIGKILL ? 1 : 0;
  if (point.how == "full" && ran.signal != 0)
    problem += "rekey was ended by signal " + std::to_string(ran.signal) + "\n";
  // Runs differ a little; one that comes to its end before the point has to end well.
  if (point.how != "full" && ran.signal != SIGKILL && ran.status != 0)
    problem += "rekey ended with " + std::to_string(ran.status) + "\n";
  if (point.recover_at > 0) {
    const Ended recovery = vergeset_until(units, recover, point.recover_at, "before");
    kills += recovery.signal == SIGKILL ? 1 : 0;
  }
  problem += judge(units);
  if (problem.empty()) return problem;
  return text_of(point) + (calls.empty() ? "" : " (" + calls.back() + ")") + ": " + problem +
         "rekey had said:\n" + ran.text;
}

/// A change that is to be broken off: its units, and the calls of one that nothing disturbs.
class Broken {
 public:
  explicit Broken(From from) {
    for (int lane = 0; lane < lanes; ++lane)
      units_.push_back(std::make_unique<KeyedUnits>(lane + (from == From::factory ? 0 : lanes), from));
    const Ended ran = vergeset_until(*units_.front(), rekey, 0, "before");
    if (ran.status != 0) throw std::runtime_error(ran.text);
    calls_ = crash::lines_of(units_.front()->path("calls"));
  }

  int size() const { return static_cast<int>(calls_.size()); }
  int count(const std::string& call) const {
    return static_cast<int>(std::count(calls_.begin(), calls_.end(), call));
  }
  /// The call that takes the change's number: what is before it reads and keeps logs alone.
  int begins_at() const {
    const std::string number = "mkdir 000" + std::to_string(units_.front()->change());
    const auto at = std::find(calls_.begin(), calls_.end(), number);
    if (at == calls_.end()) throw std::runtime_error("no " + number);
    return static_cast<int>(at - calls_.begin()) + 1;
  }
  /// Every `step`-th of the calls of the change, and some beyond the last: runs differ a little.
  std::vector<Point> points(int step, const std::string& how = "before") const {
    std::vector<Point> all;
    for (int at = begins_at() + (step > 1 ? step / 2 : 0); at <= size() + 4; at += step)
      all.push_back({at, how});
    return all;
  }
  std::vector<Point> of(const std::string& how, const std::string& call, int step = 1) const {
    std::vector<Point> all;
    for (int at = step; at <= count(call); at += step) all.push_back({at, how});
    return all;
  }

  void check(const std::vector<Point>& points) const {
    const auto began = std::chrono::steady_clock::now();
    const crash::Tally tally =
        crash::run_points(points, lanes, [&](int lane, const Point& point, int& kills) {
          return at_point(*units_[static_cast<std::size_t>(lane)], point, kills);
        });
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - began;
    std::cout << points.size() << " points, " << tally.kills << " kills, of a change of keys with " << size()
              << " calls (" << count(std::string("write ") + KeyedUnits::store_name) << " writes of keys, "
              << count("send ") << " requests) in " << static_cast<int>(took.count()) << " s\n";
    for (const std::string& problem : tally.problems) UNSCOPED_INFO(problem);
    CHECK(tally.problems.empty());
    if (points.front().how != "full") CHECK(tally.kills > 0);
  }

 private:
  std::vector<std::unique_ptr<KeyedUnits>> units_;
  std::vector<std::string> calls_;
};

void add(std::vector<Point>& points, const std::vector<Point>& more) {
  points.insert(points.end(), more.begin(), more.end());
}

const std::string write_of_keys = std::string("write ") + KeyedUnits::store_name;

TEST_CASE("killed at any of a few moments, a change of keys leaves one that opens, and recover ends it",
          "[quick]") {
  const Broken change(GENERATE(From::factory, From::own_keys));
  std::vector<Point> points = change.points(30);
  add(points, {{1, torn_keys}, {2, "torn"}});
  add(points, change.of("after", "send ", 25));
  change.check(points);
}

TEST_CASE("killed before a call of a change of keys, it leaves one that opens, and recover ends it",
          "[long]") {
  const auto from = GENERATE(From::factory, From::own_keys);
  const Broken change(from);
  change.check(change.points(from == From::factory ? 1 : 2));
}

TEST_CASE("a write of keys or journal that is torn, and a request under way, lose no key", "[long]") {
  const Broken change(GENERATE(From::factory, From::own_keys));
  std::vector<Point> points = change.of(torn_keys, write_of_keys);
  REQUIRE(points.size() >= 2);
  add(points, change.of("torn", "write journal.jsonl", 2));
  add(points, change.of("after", "send ", 4));
  change.check(points);
}

TEST_CASE("a recovery of keys that is killed is ended by the next", "[long]") {
  const Broken change(GENERATE(From::factory, From::own_keys));
  std::vector<Point> points;
  for (Point point : change.points(18)) {
    for (const int recover_at : {2, 11, 20, 33}) {
      point.recover_at = recover_at;
      points.push_back(point);
    }
  }
  change.check(points);
}

TEST_CASE("a disk that is full from any of some moments on loses no key", "[long]") {
  const Broken change(GENERATE(From::factory, From::own_keys));
  change.check(change.points(9, "full"));
}

/// So that the calls of two runs come in the same order.
std::vector<std::string> one_by_one() {
  std::vector<std::string> words = rekey;
  words.insert(words.end(), {"--at-once", "1"});
  return words;
}

/// The write of the new keys is the one before the change's first line about the unit.
TEST_CASE("where the keys cannot be stored, no SET leaves") {
  const KeyedUnits units(2 * lanes, From::factory);
  REQUIRE(vergeset_until(units, one_by_one(), 0, "before").status == 0);
  const std::vector<std::string> calls = crash::lines_of(units.path("calls"));
  const auto at = std::find(calls.begin(), calls.end(), write_of_keys);
  REQUIRE(at != calls.end());
  units.start_over();
  const Ended ran = vergeset_until(units, one_by_one(), static_cast<int>(at - calls.begin()) + 1, "full");
  INFO(ran.text);
  CHECK(ran.signal == 0);
  CHECK(ran.status != 0);
  CHECK_THAT(ran.text, Catch::Contains("No space left on device"));
  CHECK(units.sets() == 0);
  CHECK(judge(units) == "");
}

TEST_CASE("recover says of each unit which keys open it") {
  const KeyedUnits units(2 * lanes + 1, From::factory);
  // Soon after the first SETs, and soon before the end. On a busy machine the calls of two runs come in
  // another order, and the kill before the first SET or not at all: then once more.
  const bool late = GENERATE(false, true);
  Ended ran;
  for (int attempt = 0; attempt < 5; ++attempt) {
    units.start_over();
    REQUIRE(vergeset_until(units, one_by_one(), 0, "before").status == 0);
    const std::vector<std::string> calls = crash::lines_of(units.path("calls"));
    const auto first = std::find(calls.begin(), calls.end(), write_of_keys);
    const auto end = std::find(calls.rbegin(), calls.rend(), "send ").base();
    const auto at = late ? end - 2 : first + 12;
    units.start_over();
    const bool killed =
        vergeset_until(units, one_by_one(), static_cast<int>(at - calls.begin()) + 1, "before").signal ==
        SIGKILL;
    ran = units.vergeset(recover);
    if (killed && ran.text.find("before its first SET") == std::string::npos) break;
  }
  INFO(ran.text);
  CHECK(ran.status == 0);
  CHECK_THAT(ran.text, Catch::Contains(late ? "its new keys open it" : "it is open by the keys before"));
}

}  // namespace
