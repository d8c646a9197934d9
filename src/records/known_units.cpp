#include "records/known_units.h"

#include <sstream>
#include <utility>

#include "records/clock.h"
#include "records/json_read.h"
#include "smi/value.h"

namespace vergeset::records {

namespace {

const std::string path = "known-units.jsonl";

constexpr const char* first_contact = "first contact";
constexpr const char* accepted = "accepted replacement";

std::string line_of(const std::string& unit, const KnownUnits::Known& known, const std::string& was) {
  Json line{{"unit", unit}, {"engine", smi::to_hex(known.engine)}, {"at", known.since}};
  line["how"] = known.who.empty() ? first_contact : accepted;
  if (!known.who.empty()) {
    line["who"] = known.who;
    line["was"] = smi::to_hex(was);
  }
  return line.dump(-1, ' ', true, Json::error_handler_t::replace) + "\n";
}

}  // namespace

KnownUnits KnownUnits::read(const Disk& disk) {
  KnownUnits known;
  const auto text = disk.read(path);
  if (!text) return known;
  std::istringstream lines(*text);
  for (std::string line; std::getline(lines, line);) known.take_line(line);
  known.torn_ = !text->empty() && text->back() != '\n';
  return known;
}

void KnownUnits::take_line(const std::string& text) {
  if (text.empty()) return;
  const auto line = parse_json(text);
  const std::string unit = line ? text_in(*line, "unit") : std::string();
  const auto engine = line ? smi::from_hex(text_in(*line, "engine")) : Result<std::string>(Problem{});
  const std::string at = line ? text_in(*line, "at") : std::string();
  const std::string how = line ? text_in(*line, "how") : std::string();
  const bool first = how == first_contact;
  const std::string who = line ? text_in(*line, "who") : std::string();
  const bool whole = !unit.empty() && engine && !engine->empty() && milliseconds_of(at) &&
                     (first || (how == accepted && !who.empty()));
  if (!whole) {
    ++unreadable_;
    return;
  }
  if (first) {
    known_.try_emplace(unit, Known{*engine, at, {}});
  } else {
    known_[unit] = {*engine, at, who};
  }
}

void KnownUnits::accept(const std::vector<std::string>& units, const std::string& who) {
  accepted_.insert(units.begin(), units.end());
  who_ = who;
}

std::optional<KnownUnits::Known> KnownUnits::find(const std::string& unit) const {
  const auto found = known_.find(unit);
  if (found == known_.end()) return std::nullopt;
  return found->second;
}

std::optional<std::string> KnownUnits::expected(const std::string& unit) const {
  const auto found = known_.find(unit);
  if (found == known_.end() || accepted_.count(unit) > 0) return std::nullopt;
  return found->second.engine;
}

void KnownUnits::met(Disk& disk, const std::string& unit, const std::string& engine, const std::string& at) {
  if (engine.empty()) return;
  const auto found = known_.find(unit);
  if (found == known_.end()) {
    const Known known{engine, at, {}};
    waiting_ += line_of(unit, known, {});
    known_[unit] = known;
    return;
  }
  if (found->second.engine == engine || accepted_.count(unit) == 0) return;
  const Known known{engine, at, who_};
  append(disk, std::exchange(waiting_, {}) + line_of(unit, known, found->second.engine));
  replaced_[unit] = std::exchange(found->second, known).engine;
  // Once: what comes after it in the same run is a stranger again.
  accepted_.erase(unit);
}

std::optional<std::string> KnownUnits::replaced(const std::string& unit) const {
  const auto found = replaced_.find(unit);
  if (found == replaced_.end()) return std::nullopt;
  return found->second;
}

void KnownUnits::append(Disk& disk, const std::string& lines) {
  disk.append(path, (std::exchange(torn_, false) ? "\n" : "") + lines, true);
}

void KnownUnits::keep(Disk& disk) {
  if (!waiting_.empty()) append(disk, std::exchange(waiting_, {}));
}

}  // namespace vergeset::records
