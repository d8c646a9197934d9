#include "records/commissioning.h"

#include <fmt/format.h>

#include <charconv>
#include <sstream>

#include "records/clock.h"
#include "records/json_line.h"
#include "records/json_read.h"

namespace vergeset::records {

namespace {

/// What is put behind a line that a power cut tore. It was never acted on, and is passed over.
constexpr std::string_view torn_line = " (torn)";

std::string commissioning_folder(const std::string& unit) {
  return "commissioning/" + unit;
}

/// The highest number that a record of the unit has; 0 where it has none.
int last_number(const Disk& disk, const std::string& unit) {
  int last = 0;
  for (const std::string& name : disk.list(commissioning_folder(unit))) {
    int number = 0;
    const auto [end, error] = std::from_chars(name.data(), name.data() + name.size(), number);
    if (error == std::errc() && std::string_view(end) == ".jsonl") last = std::max(last, number);
  }
  return last;
}

Json settings_json(const StageDone& stage) {
  Json all = Json::array();
  for (const StageDone::Setting& one : stage.settings) {
    all.push_back({{"name", one.name}, {"as_found", one.as_found}, {"as_left", one.as_left}});
  }
  return all;
}

Json findings_json(const StageDone& stage) {
  Json all = Json::array();
  for (const StageDone::Finding& one : stage.findings) {
    all.push_back(
        {{"rule", one.rule}, {"severity", one.severity}, {"text", one.text}, {"source", one.source}});
  }
  return all;
}

Json facts_json(const StageDone& stage) {
  Json all = Json::array();
  for (const auto& [name, text] : stage.facts) all.push_back({{"name", name}, {"text", text}});
  return all;
}

/// The members of a list under a name; none where there is no list.
Json list_in(const Json& object, const char* name) {
  const auto found = object.find(name);
  return found != object.end() && found->is_array() ? *found : Json::array();
}

StageDone stage_from(const Json& line) {
  StageDone stage{text_in(line, "stage"), line.value("passed", false), text_in(line, "text"),
                  static_cast<int>(number_in(line, "change").value_or(0))};
  for (const Json& one : list_in(line, "settings")) {
    stage.settings.push_back({text_in(one, "name"), text_in(one, "as_found"), text_in(one, "as_left")});
  }
  for (const Json& one : list_in(line, "findings")) {
    stage.findings.push_back(
        {text_in(one, "rule"), text_in(one, "severity"), text_in(one, "text"), text_in(one, "source")});
  }
  for (const Json& one : list_in(line, "facts")) {
    stage.facts.emplace_back(text_in(one, "name"), text_in(one, "text"));
  }
  stage.who = text_in(line, "who");
  stage.at = text_in(line, "at");
  return stage;
}

/// As long as `passed` is a flag where it stands: nlohmann would throw for another kind.
bool well_formed(const Json& line) {
  const auto passed = line.is_object() ? line.find("passed") : line.end();
  return line.is_object() && milliseconds_of(text_in(line, "at")) &&
         (passed == line.end() || passed->is_boolean());
}

}  // namespace

std::string Commissioning::path() const {
  return fmt::format("{}/{:04}", commissioning_folder(unit_), number_);
}

Result<Commissioning> Commissioning::open(const Disk& disk, const std::string& unit) {
  Commissioning last;
  last.unit_ = unit;
  last.number_ = last_number(disk, unit);
  if (last.number_ > 0) {
    std::string text = disk.read(last.path() + ".jsonl").value_or("");
    last.torn_ = !text.empty() && text.back() != '\n';
    if (last.torn_) text.resize(text.rfind('\n') + 1);
    std::istringstream lines(text);
    int count = 0;
    for (std::string line; std::getline(lines, line);) {
      ++count;
      if (line.ends_with(torn_line) || last.take(line)) continue;
      return Problem{
          fmt::format("{}.jsonl:{}: this line is damaged: mend it from a copy, or move the file away "
                      "to begin anew",
                      last.path(), count)};
    }
    if (last.ended_.empty()) return last;
  }
  Commissioning fresh;
  fresh.unit_ = unit;
  fresh.number_ = last.number_ + 1;
  return fresh;
}

const PoleAnswer* Commissioning::answer(const std::string& check) const {
  const auto found = answers_.find(check);
  return found == answers_.end() ? nullptr : &found->second;
}

const StageDone* Commissioning::stage(const std::string& name) const {
  const auto found = stages_.find(name);
  return found == stages_.end() ? nullptr : &found->second;
}

bool Commissioning::passed(const std::string& name) const {
  const StageDone* done = stage(name);
  return done != nullptr && done->passed;
}

bool Commissioning::take(const std::string& text) {
  const auto line = parse_json(text);
  if (!line || !well_formed(*line)) return false;
  const std::string event = text_in(*line, "event");
  const std::string at = text_in(*line, "at");
  if (event == "begun") {
    begun_ = at;
  } else if (event == "answer") {
    const std::string check = text_in(*line, "check");
    answers_[check] = {check, text_in(*line, "answer"), text_in(*line, "note"), text_in(*line, "who"), at};
  } else if (event == "stage") {
    StageDone stage = stage_from(*line);
    stages_[stage.stage] = std::move(stage);
  } else if (event == "ended") {
    ended_ = at;
  } else {
    return false;
  }
  return true;
}

void Commissioning::write(Disk& disk, const std::string& line) {
  disk.append(path() + ".jsonl", (torn_ ? std::string(torn_line) + "\n" : "") + line + "\n", true);
  torn_ = false;
}

void Commissioning::begin(Disk& disk, const std::string& who, const std::string& at) {
  JsonLine line;
  line.text("event", "begun").text("unit", unit_).text("who", who).text("at", at);
  write(disk, line.str());
  begun_ = at;
}

void Commissioning::add(Disk& disk, PoleAnswer answer) {
  JsonLine line;
  line.text("event", "answer").text("check", answer.check).text("answer", answer.answer);
  if (!answer.note.empty()) line.text("note", answer.note);
  line.text("who", answer.who).text("at", answer.at);
  write(disk, line.str());
  answers_[answer.check] = std::move(answer);
}

void Commissioning::add(Disk& disk, StageDone stage) {
  JsonLine line;
  line.text("event", "stage")
      .text("stage", stage.stage)
      .flag("passed", stage.passed)
      .text("text", stage.text);
  if (stage.change > 0) line.number("change", stage.change);
  if (!stage.settings.empty()) line.json("settings", settings_json(stage).dump());
  if (!stage.findings.empty()) line.json("findings", findings_json(stage).dump());
  if (!stage.facts.empty()) line.json("facts", facts_json(stage).dump());
  line.text("who", stage.who).text("at", stage.at);
  write(disk, line.str());
  stages_[stage.stage] = std::move(stage);
}

void Commissioning::end(Disk& disk, const std::string& who, const std::string& at) {
  JsonLine line;
  line.text("event", "ended").text("who", who).text("at", at);
  write(disk, line.str());
  ended_ = at;
}

}  // namespace vergeset::records
