#include "kill.h"

#include <atomic>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <thread>

namespace crash {

namespace {

using Json = nlohmann::json;

Environment ended_at(const EightUnits& units, int at, const std::string& how) {
  return crash::ended_at(units.records(), units.path("calls"), at, how);
}

const std::vector<std::string> apply{"apply", "--yes", "--quiet", "--why", "new channel"};
const std::vector<std::string> recover{"recover"};

/// Whether a unit may read as desired by its outcome, and as found.
bool settled(const std::string& outcome) {
  return outcome == "settled";
}
bool as_before(const std::string& outcome) {
  return outcome == "restored" || outcome == "held" || outcome == "refused";
}

/// What the records say of each unit; problems where the change has not ended, or there is more than one.
std::map<std::string, std::string> outcomes(const EightUnits& units, std::string& problem) {
  std::map<std::string, std::string> all;
  const Ended ran = units.vergeset({"changes", "--json"});
  const Json document = Json::parse(ran.text, nullptr, false);
  if (document.is_discarded()) {
    problem = "changes: " + ran.text;
    return all;
  }
  const Json& changes = document.at("changes");
  if (changes.size() > 1) problem = "more than one change on record";
  for (const Json& change : changes) {
    if (change.at("ended") == "") problem = "the change has not ended after recovery";
    for (const Json& unit : change.at("units")) all[unit.at("unit")] = unit.at("outcome");
  }
  return all;
}

/// What this unit is not, or nothing. `outcome` is empty where no change is on record.
std::string judge_unit(const std::string& unit, const std::string& outcome, const std::string& reading,
                       const Sides& sides) {
  const bool desired = reading == sides.desired.at(unit);
  const bool found = reading == sides.found.at(unit);
  if (!desired && !found) return unit + " is neither as found nor as desired:\n" + reading;
  if (settled(outcome) && desired) return {};
  if ((outcome.empty() || as_before(outcome)) && found) return {};
  return unit + " is " + (desired ? "as desired" : "as found") + ", and on record as '" + outcome + "'\n";
}

}  // namespace

Environment ended_at(const std::string& records, const std::string& calls, int at, const std::string& how) {
  return {std::string("LD_PRELOAD=") + KILL_AT,
          // Of a build with AddressSanitizer, which wants to stand before all others.
          "ASAN_OPTIONS=verify_asan_link_order=0", "KILL_AT_RECORDS=" + records,
          "KILL_AT=" + std::to_string(at), "KILL_AT_HOW=" + how, "KILL_AT_LOG=" + calls};
}

std::vector<std::string> lines_of(const std::string& path) {
  std::ifstream file(path);
  std::vector<std::string> lines;
  for (std::string line; std::getline(file, line);) lines.push_back(line);
  return lines;
}

std::string text_of(const Point& point) {
  std::string text = "change, " + point.how + " call " + std::to_string(point.at);
  if (point.recover_at > 0) text += ", then recover before call " + std::to_string(point.recover_at);
  return text;
}

std::vector<std::string> calls_of(const EightUnits& units, const std::vector<std::string>& words) {
  const Ended ran = units.vergeset(words, ended_at(units, 0, "before"));
  if (ran.status != 0) throw std::runtime_error(ran.text);
  return lines_of(units.path("calls"));
}

Ended vergeset_until(const EightUnits& units, const std::vector<std::string>& words, int at,
                     const std::string& how) {
  return units.vergeset(words, ended_at(units, at, how));
}

Sides sides_of(const EightUnits& units) {
  Sides sides;
  units.start_over();
  sides.found = units.readings();
  const Ended ran = units.vergeset(apply);
  if (ran.status != 0) throw std::runtime_error(ran.text);
  sides.desired = units.readings();
  for (const auto& [unit, reading] : sides.found) {
    if (reading == sides.desired[unit]) throw std::runtime_error(unit + " cannot be told apart:\n" + reading);
  }
  return sides;
}

std::string judge(const EightUnits& units, const Sides& sides) {
  const Ended first = units.vergeset(recover);
  if (first.status != 0) return "recover ended with " + std::to_string(first.status) + ":\n" + first.text;
  const int sets = units.sets();
  const Ended second = units.vergeset(recover);
  std::string problem;
  if (second.status != 0 || second.text != "nothing to recover\n") {
    problem += "a second recover found something:\n" + second.text;
  }
  if (units.sets() != sets) problem += "a second recover sent SETs\n";
  const std::map<std::string, std::string> on_record = outcomes(units, problem);
  for (const std::string& unit : EightUnits::names()) {
    const auto outcome = on_record.find(unit);
    problem +=
        judge_unit(unit, outcome == on_record.end() ? "" : outcome->second, units.reading(unit), sides);
  }
  return problem.empty() ? problem : problem + "recover had said:\n" + first.text;
}

/// What went wrong at a point, or nothing.
std::string at_point(const EightUnits& units, const Sides& sides, const Point& point, int& kills) {
  units.start_over();
  const Ended ran = vergeset_until(units, apply, point.at, point.how);
  const std::vector<std::string> calls = lines_of(units.path("calls"));
  std::string problem;
  kills += ran.signal == SIGKILL ? 1 : 0;
  if (point.how == "full") {
    if (ran.signal != 0) problem += "apply was ended by signal " + std::to_string(ran.signal) + "\n";
  } else if (ran.signal != SIGKILL && ran.status != 0) {
    // Runs differ a little; one that comes to its end before the point has to end well.
    problem += "apply ended with " + std::to_string(ran.status) + "\n";
  }
  if (point.recover_at > 0) {
    const Ended recovery = vergeset_until(units, recover, point.recover_at, "before");
    kills += recovery.signal == SIGKILL ? 1 : 0;
  }
  problem += judge(units, sides);
  if (problem.empty()) return problem;
  return text_of(point) + (calls.empty() ? "" : " (" + calls.back() + ")") + ": " + problem +
         "apply had said:\n" + ran.text;
}

Tally run_points(const std::vector<Point>& points, int lanes,
                 const std::function<std::string(int lane, const Point& point, int& kills)>& at_point) {
  Tally tally;
  std::mutex of_tally;
  std::atomic<std::size_t> next = 0;
  const auto work = [&](int lane) {
    for (std::size_t i = next++; i < points.size(); i = next++) {
      std::string problem;
      int kills = 0;
      try {
        problem = at_point(lane, points[i], kills);
      } catch (const std::exception& error) {
        problem = text_of(points[i]) + ": " + error.what();
      }
      const std::lock_guard guard(of_tally);
      tally.kills += kills;
      if (!problem.empty()) tally.problems.push_back(problem);
    }
  };
  std::vector<std::thread> threads;
  for (int lane = 0; lane < lanes; ++lane) threads.emplace_back(work, lane);
  for (std::thread& thread : threads) thread.join();
  return tally;
}

Tally run_points(const std::vector<Point>& points, int lanes) {
  std::vector<std::unique_ptr<EightUnits>> units;
  for (int lane = 0; lane < lanes; ++lane) units.push_back(std::make_unique<EightUnits>(lane));
  const Sides sides = sides_of(*units.front());
  return run_points(points, lanes, [&](int lane, const Point& point, int& kills) {
    return at_point(*units[static_cast<std::size_t>(lane)], sides, point, kills);
  });
}

}  // namespace crash
