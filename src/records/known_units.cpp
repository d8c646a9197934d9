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

Json line_of(const std::string& unit, const KnownUnits::Met& met, const std::string& at) {
  Json line{{"unit", unit}};
  if (!met.engine.empty()) line["engine"] = smi::to_hex(met.engine);
  if (!met.certificate.empty()) line["certificate"] = met.certificate;
  line["at"] = at;
  return line;
}

std::string first_line(const std::string& unit, const KnownUnits::Met& met, const std::string& at) {
  Json line = line_of(unit, met, at);
  line["how"] = first_contact;
  return line.dump(-1, ' ', true, Json::error_handler_t::replace) + "\n";
}

std::string accepted_line(const std::string& unit, const KnownUnits::Met& met, const std::string& at,
                          const std::string& who, const KnownUnits::Known& was) {
  Json line = line_of(unit, met, at);
  line["how"] = accepted;
  line["who"] = who;
  if (!was.engine.empty()) line["was"] = smi::to_hex(was.engine);
  if (!was.certificate.empty()) line["was_certificate"] = was.certificate;
  return line.dump(-1, ' ', true, Json::error_handler_t::replace) + "\n";
}

/// "sha256:" and 64 hex digits.
bool is_fingerprint(const std::string& text) {
  const std::string digest = "sha256:";
  const auto octets = smi::from_hex(text.starts_with(digest) ? text.substr(digest.size()) : text);
  return text.starts_with(digest) && octets && octets->size() == 32;
}

KnownUnits::Known known_as(const KnownUnits::Met& met, const std::string& at, const std::string& who) {
  return {met.engine, at, who, met.certificate, met.certificate.empty() ? std::string() : at};
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
  const std::string certificate = line ? text_in(*line, "certificate") : std::string();
  const std::string at = line ? text_in(*line, "at") : std::string();
  const std::string how = line ? text_in(*line, "how") : std::string();
  const bool first = how == first_contact;
  const std::string who = line ? text_in(*line, "who") : std::string();
  const bool tells = engine && !(engine->empty() && certificate.empty()) &&
                     (certificate.empty() || is_fingerprint(certificate));
  const bool whole =
      !unit.empty() && tells && milliseconds_of(at) && (first || (how == accepted && !who.empty()));
  if (!whole) {
    ++unreadable_;
    return;
  }
  if (first) {
    take_first(unit, known_as({*engine, certificate}, at, {}));
  } else {
    known_[unit] = known_as({*engine, certificate}, at, who);
  }
}

bool KnownUnits::is_another(const Known& known, const Met& met) const {
  const auto differs = [](const std::string& before, const std::string& now) {
    return !before.empty() && !now.empty() && before != now;
  };
  return differs(known.engine, met.engine) || differs(known.certificate, met.certificate);
}

/// What is known already stands; what was not told before is added to it.
void KnownUnits::take_first(const std::string& unit, const Known& met) {
  const auto [at, is_new] = known_.try_emplace(unit, met);
  Known& known = at->second;
  if (is_new || is_another(known, {met.engine, met.certificate})) return;
  if (known.engine.empty() && !met.engine.empty()) {
    known.engine = met.engine;
    known.since = met.since;
  }
  if (known.certificate.empty() && !met.certificate.empty()) {
    known.certificate = met.certificate;
    known.certificate_since = met.certificate_since;
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
  if (found == known_.end() || found->second.engine.empty() || accepted_.count(unit) > 0) return std::nullopt;
  return found->second.engine;
}

std::string KnownUnits::expected_certificate(const std::string& unit) const {
  const auto found = known_.find(unit);
  return found == known_.end() || accepted_.count(unit) > 0 ? std::string() : found->second.certificate;
}

void KnownUnits::met(Disk& disk, const std::string& unit, const Met& met, const std::string& at) {
  if (met.engine.empty() && met.certificate.empty()) return;
  const auto found = known_.find(unit);
  if (found == known_.end() || !is_another(found->second, met)) {
    const bool tells_more = found == known_.end() || (found->second.engine.empty() && !met.engine.empty()) ||
                            (found->second.certificate.empty() && !met.certificate.empty());
    if (!tells_more) return;
    waiting_ += first_line(unit, met, at);
    take_first(unit, known_as(met, at, {}));
    return;
  }
  if (accepted_.count(unit) == 0) return;
  const Known was = std::exchange(found->second, known_as(met, at, who_));
  append(disk, std::exchange(waiting_, {}) + accepted_line(unit, met, at, who_, was));
  if (!was.engine.empty() && was.engine != met.engine) replaced_[unit] = was.engine;
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
