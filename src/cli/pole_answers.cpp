#include "cli/pole_answers.h"

#include <fmt/format.h>

#include <algorithm>
#include <iostream>

#include "cli/print.h"
#include "fleet/site.h"
#include "schema/yaml.h"
#include "smi/suggest.h"
#include "smi/words.h"

namespace vergeset::cli {

namespace {

using checks::PoleCheck;
using records::PoleAnswer;

constexpr const char* not_asked = "not asked";

std::vector<std::string> check_names() {
  std::vector<std::string> names;
  for (const PoleCheck& check : checks::pole_checks()) names.emplace_back(check.name);
  return names;
}

/// Why the site record does not take it; empty where it does.
std::string unfit(const PoleCheck& check, const std::string& text) {
  fleet::Site site;
  Faults faults;
  fleet::add_site_field(site, {std::string(check.field), {}, text, {}, false}, faults);
  return faults.any() ? faults.sorted().front().text : "";
}

std::string expected_of(const PoleCheck& check) {
  return check.field.empty() ? "yes, no or skip, and a note behind it"
                             : "a value for the site record, or skip";
}

/// `yes`, or {answer: yes, note: TEXT}.
std::optional<PoleAnswer> read_answer(const PoleCheck& check, const schema::Entry& entry) {
  const bool noted = entry.is_map();
  if (noted) entry.only({"answer", "note"});
  const schema::Entry answer = noted ? entry.need("answer") : entry;
  const std::string text = answer.text(expected_of(check));
  if (!answer.is_text()) return std::nullopt;
  auto read = answer_from(check, text);
  if (!read) {
    answer.fault(read.problem());
    return std::nullopt;
  }
  PoleAnswer out = *std::move(read);
  if (const schema::Entry note = noted ? entry.at("note") : schema::Entry()) out.note = note.text("a note");
  return out;
}

}  // namespace

PoleAnswers PoleAnswers::read(const std::string& path, const fleet::Fleet& fleet, Faults& faults) {
  PoleAnswers answers;
  const schema::YamlFile file(path, path, faults);
  const schema::Entry root = file.root();
  root.only({"who", "all", "units"});
  std::string who;
  if (const schema::Entry entry = root.at("who")) who = entry.text("who made the checks");
  const auto take = [&](const schema::Entry& entry, ByCheck& into) {
    for (const auto& [key, value] : entry.pairs("checks and their answers, such as {sealed: yes}")) {
      const std::string name = key.text("the name of a check");
      const PoleCheck* check = checks::pole_check(name);
      if (key.is_text() && check == nullptr) {
        key.fault("no check is called " + name + smi::suggestion(name, check_names()));
      }
      if (check == nullptr) continue;
      auto answer = read_answer(*check, value);
      if (!answer) continue;
      answer->who = who;
      into[name] = *std::move(answer);
    }
  };
  take(root.at("all"), answers.all_);
  for (const auto& [key, value] : root.at("units").pairs("units and their answers")) {
    const std::string name = key.text("the name of a unit");
    if (key.is_text() && fleet.unit(name) == nullptr) {
      std::vector<std::string> known;
      for (const fleet::Unit& unit : fleet.units) known.push_back(unit.name);
      key.fault("no unit is called " + name + smi::suggestion(name, known));
      continue;
    }
    take(value, answers.units_[name]);
  }
  return answers;
}

std::optional<PoleAnswer> PoleAnswers::find(const std::string& unit, const std::string& check) const {
  const auto own = units_.find(unit);
  for (const ByCheck* answers : {own == units_.end() ? nullptr : &own->second, &all_}) {
    if (answers == nullptr) continue;
    const auto found = answers->find(check);
    if (found != answers->end()) return found->second;
  }
  return std::nullopt;
}

Result<PoleAnswer> answer_from(const PoleCheck& check, const std::string& typed) {
  const std::string text(smi::trimmed(typed));
  PoleAnswer answer;
  answer.check = check.name;
  const std::string first = smi::lower(text.substr(0, text.find_first_of(" ,;:")));
  if (first == "skip") {
    answer.answer = not_asked;
    return answer;
  }
  if (!check.field.empty()) {
    if (const std::string why = text.empty() ? "expected " + expected_of(check) : unfit(check, text);
        !why.empty()) {
      return Problem{why};
    }
    answer.answer = text;
    return answer;
  }
  const bool yes = first == "yes" || first == "y";
  if (!yes && first != "no" && first != "n") {
    return Problem{fmt::format("expected {}; found {}", expected_of(check), text.empty() ? "nothing" : text)};
  }
  answer.answer = yes ? "yes" : "no";
  const auto note = text.find_first_not_of(" ,;:", first.size());
  if (note != std::string::npos) answer.note = text.substr(note);
  return answer;
}

std::optional<PoleAnswer> ask_check(const PoleCheck& check, const std::string& recorded) {
  constexpr int most_tries = 20;
  for (int i = 0; i < most_tries; ++i) {
    print_aside(fmt::format("{}{} ", check.asks,
                            check.field.empty() ? " (yes, no, skip)"
                            : recorded.empty()  ? ":"
                                                : fmt::format(" [{}]:", recorded)));
    std::string typed;
    if (!std::getline(std::cin, typed)) return std::nullopt;
    if (smi::trimmed(typed).empty() && !check.field.empty()) typed = recorded;
    auto answer = answer_from(check, typed);
    if (answer) return *std::move(answer);
    print_aside("  " + answer.problem() + "\n");
  }
  return std::nullopt;
}

}  // namespace vergeset::cli
