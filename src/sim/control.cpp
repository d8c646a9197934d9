#include "sim/control.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <sstream>
#include <vector>

#include "sim/access_names.h"
#include "smi/quantity.h"
#include "smi/suggest.h"
#include "smi/words.h"

namespace vergeset::sim {

namespace {

using Words = std::vector<std::string>;
constexpr int greatest_port = 65535;

/// It says what stood in the line, whatever that was.
std::string problem(std::string_view text) {
  return fmt::format("error: {}\n", smi::escaped(text));
}

std::optional<int> count_of(const std::string& text) {
  int number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc() || end != text.data() + text.size() || number < 0) return std::nullopt;
  return number;
}

/// An object and its row, from "rsuMsgRepeatPsid.3" or "rsuID".
struct Named {
  const schema::Object* object = nullptr;
  std::optional<std::uint32_t> index;
};

Result<Named> named(const SimUnit& unit, const std::string& text) {
  const std::size_t dot = text.find('.');
  const std::string name = text.substr(0, dot);
  Named found{unit.store.model().object(name), std::nullopt};
  if (found.object == nullptr) {
    Words known;
    for (const auto& [each, object] : unit.store.model().objects) known.push_back(each);
    return Problem{fmt::format("model {} has no object '{}'{}", unit.store.model().name, name,
                               smi::suggestion(name, known))};
  }
  if (dot != std::string::npos) {
    const auto index = count_of(text.substr(dot + 1));
    if (!index) return Problem{fmt::format("'{}' is no row of {}", text.substr(dot + 1), name)};
    found.index = static_cast<std::uint32_t>(*index);
  }
  return found;
}

/// Of what a SET may name: objects of the model, and those of users and access. Empty where it is one.
std::string unknown_object(const SimUnit& unit, const std::string& text) {
  const Words access = access_names();
  if (std::find(access.begin(), access.end(), text) != access.end()) return {};
  const auto found = named(unit, text);
  if (found) return {};
  const std::string suggestion = smi::suggestion(text, access);
  return suggestion.empty() ? found.problem() : fmt::format("there is no object '{}'{}", text, suggestion);
}

/// The same where one variable must be meant.
Result<Named> one_named(const SimUnit& unit, const std::string& text) {
  auto found = named(unit, text);
  if (found && found->object->table != nullptr && !found->index)
    return Problem{fmt::format("{} is a column: say of which row, {}.1", text, text)};
  return found;
}

/// As a fleet's files take it: in words, with or without a unit of measure.
Result<smi::Value> value_of(const schema::Object& object, const std::string& text) {
  if (!object.unit.empty())
    if (const auto quantity = smi::Quantity::parse(text); quantity && !quantity->unit.empty()) {
      const auto number = smi::in_unit(*quantity, object.unit);
      if (!number) return Problem{number.problem()};
      return smi::encode(object.syntax, std::to_string(*number));
    }
  return smi::encode(object.syntax, text);
}

std::string rest_of(std::string_view line, std::size_t words) {
  for (std::size_t i = 0; i < words; ++i) {
    const std::size_t start = line.find_first_not_of(" \t");
    if (start == std::string_view::npos) return {};
    const std::size_t end = line.find_first_of(" \t", start);
    line = end == std::string_view::npos ? std::string_view() : line.substr(end);
  }
  const std::size_t start = line.find_first_not_of(" \t");
  if (start == std::string_view::npos) return {};
  return std::string(line.substr(start, line.find_last_not_of(" \t\r\n") + 1 - start));
}

std::string counters_text(const Counters& counters) {
  const Counters::Way& in = counters.in;
  const Counters::Way& out = counters.out;
  return fmt::format(
      "gets {}\nsets {}\nset-varbinds {}\nsets-refused {}\n"
      "datagrams-in {}\noctets-in {}\nlost-in {}\ndatagrams-out {}\noctets-out {}\nlost-out {}\n",
      counters.gets, counters.sets, counters.set_varbinds, counters.sets_refused, in.datagrams, in.octets,
      in.lost, out.datagrams, out.octets, out.lost);
}

std::string state_lines(const SimUnit& unit, std::int64_t now) {
  std::string text;
  for (const VarBind& bind : unit.store.walk(now)) {
    const schema::Object* object = unit.store.model().object_at(bind.oid);
    text += fmt::format(
        "{} {}\n", unit.store.model().name_of(bind.oid),
        object != nullptr ? smi::to_text(object->syntax, bind.value) : smi::exact_text(bind.value));
  }
  return text;
}

std::string add_refusal(SimUnit& unit, const Words& words) {
  const bool of_object = words.size() == 4;
  if (words.size() != 3 && !of_object) return problem("refuse takes [OBJECT] STATUS N");
  Trouble::Refusal refusal;
  if (of_object) {
    if (const std::string unknown = unknown_object(unit, words[1]); !unknown.empty()) return problem(unknown);
    refusal.object = words[1];
  }
  const std::string& name = words[words.size() - 2];
  const auto status = status_named(name);
  if (!status)
    return problem(fmt::format("'{}' is no error-status{}", name, smi::suggestion(name, status_names())));
  const auto times = count_of(words.back());
  if (!times) return problem(fmt::format("'{}' is no number of SETs", words.back()));
  refusal.status = *status;
  refusal.left = *times;
  unit.trouble.refusals.push_back(refusal);
  return "ok\n";
}

std::string add_ignored(SimUnit& unit, const Words& words) {
  if (words.size() != 2 && words.size() != 3) return problem("ignore takes [OBJECT] N");
  Trouble::Ignored ignored;
  if (words.size() == 3) {
    if (const std::string unknown = unknown_object(unit, words[1]); !unknown.empty()) return problem(unknown);
    ignored.object = words[1];
  }
  const auto times = count_of(words.back());
  if (!times) return problem(fmt::format("'{}' is no number of SETs", words.back()));
  ignored.left = *times;
  unit.trouble.ignored.push_back(ignored);
  return "ok\n";
}

std::string add_clip(SimUnit& unit, const Words& words, std::string_view line) {
  if (words.size() < 3) return problem("clip takes OBJECT VALUE");
  const auto found = named(unit, words[1]);
  if (!found) return problem(found.problem());
  const auto value = value_of(*found->object, rest_of(line, 2));
  if (!value) return problem(value.problem());
  unit.trouble.clips.push_back({words[1], *value});
  return "ok\n";
}

std::string set_by_hand(SimUnit& unit, const Words& words, std::string_view line, std::int64_t now) {
  if (words.size() < 2) return problem("set takes OBJECT VALUE");
  const auto found = one_named(unit, words[1]);
  if (!found) return problem(found.problem());
  const auto value = value_of(*found->object, rest_of(line, 2));
  if (!value) return problem(value.problem());
  const auto done = unit.store.put_by_hand(*found->object, found->index.value_or(0), *value, now);
  return done ? "ok\n" : problem(done.problem());
}

std::string get_text(const SimUnit& unit, const Words& words, std::int64_t now) {
  if (words.size() != 2) return problem("get takes OBJECT");
  const auto found = one_named(unit, words[1]);
  if (!found) return problem(found.problem());
  const smi::Value value = unit.store.get(found->object->oid.child(found->index.value_or(0)), now);
  return smi::to_text(found->object->syntax, value) + "\n";
}

/// Where it is by the settings that both standards have; nothing where they say none.
std::optional<SimUnit::Saying> place_in_settings(const SimUnit& unit, std::int64_t now) {
  const auto words_of = [&](const char* name) -> std::string {
    const schema::Object* const object = unit.store.model().object(name);
    if (object == nullptr) return {};
    const smi::Value value = unit.store.get(object->oid.child(0), now);
    return value.absent() ? std::string() : smi::to_text(object->syntax, value);
  };
  SimUnit::Saying place;
  place.host = words_of("rsuNotifyIpAddress");
  const auto port = count_of(words_of("rsuNotifyPort"));
  if (place.host.empty() || place.host == "::" || place.host == "0.0.0.0" || !port || *port < 1 ||
      *port > greatest_port)
    return std::nullopt;
  place.port = static_cast<std::uint16_t>(*port);
  return place;
}

std::optional<SimUnit::Saying> place_of(const std::string& text) {
  const std::size_t colon = text.rfind(':');
  const auto port = colon == std::string::npos ? std::nullopt : count_of(text.substr(colon + 1));
  if (!port || colon == 0 || *port < 1 || *port > greatest_port) return std::nullopt;
  return SimUnit::Saying{{}, text.substr(0, colon), static_cast<std::uint16_t>(*port)};
}

std::string say_unasked(SimUnit& unit, const Words& words, std::int64_t now) {
  if (words.size() != 2 && words.size() != 3) return problem("notify takes NAME [HOST:PORT]");
  auto saying = words.size() == 3 ? place_of(words[2]) : place_in_settings(unit, now);
  if (!saying && words.size() == 3)
    return problem(fmt::format("'{}' is no HOST:PORT, as 127.0.0.1:1162", words[2]));
  if (!saying)
    return problem(
        "rsuNotifyIpAddress and rsuNotifyPort say nowhere to send it; set them, or name HOST:PORT behind it");
  Words known;
  for (const auto& [id, notification] : unit.store.model().notifications) {
    known.push_back(notification.name);
    if (notification.name == words[1]) saying->notification = id;
  }
  if (const auto id = smi::Oid::parse(words[1]); id && saying->notification.arcs().empty())
    saying->notification = *id;
  if (saying->notification.arcs().empty())
    return problem(fmt::format("model {} has no notification '{}'{}", unit.store.model().name, words[1],
                               smi::suggestion(words[1], known)));
  unit.ask_saying(*std::move(saying));
  return "ok\n";
}

std::string stick(SimUnit& unit, const Words& words) {
  const auto times = words.size() == 3 ? count_of(words[2]) : std::nullopt;
  if (!times || (words[1] != "standby" && words[1] != "fault")) return problem("stuck takes standby|fault N");
  unit.store.stick(words[1] == "fault" ? Store::Stuck::fault : Store::Stuck::standby, *times);
  return "ok\n";
}

std::string set_number(int& number, const Words& words, std::string_view what) {
  const auto given = words.size() == 2 ? count_of(words[1]) : std::nullopt;
  if (!given) return problem(fmt::format("{} takes {}", words[0], what));
  number = *given;
  return "ok\n";
}

std::string clear(SimUnit& unit) {
  unit.trouble = {};
  unit.store.stick(Store::Stuck::standby, 0);
  return "ok\n";
}

}  // namespace

std::string obey(SimUnit& unit, std::string_view line, std::int64_t now) {
  std::istringstream stream{std::string(line)};
  Words words;
  for (std::string word; stream >> word;) words.push_back(word);
  const std::string verb = words.empty() ? "" : words[0];
  if (verb == "counters" && words.size() == 1) return counters_text(unit.counters);
  if (verb == "reset" && words.size() == 2 && words[1] == "counters") {
    unit.counters = {};
    return "ok\n";
  }
  if (verb == "drop") return set_number(unit.trouble.drop, words, "a number of requests");
  if (verb == "drop-response") return set_number(unit.trouble.drop_response, words, "a number of SETs");
  if (verb == "delay") return set_number(unit.trouble.delay_ms, words, "milliseconds");
  if (verb == "forget-users") return set_number(unit.trouble.forget_users, words, "a number of reboots");
  if (verb == "refuse") return add_refusal(unit, words);
  if (verb == "ignore") return add_ignored(unit, words);
  if (verb == "clip") return add_clip(unit, words, line);
  if (verb == "stuck") return stick(unit, words);
  if (verb == "notify") return say_unasked(unit, words, now);
  if (verb == "set") return set_by_hand(unit, words, line, now);
  if (verb == "get") return get_text(unit, words, now);
  if (verb == "state" && words.size() == 1) return state_lines(unit, now);
  if (verb == "clear" && words.size() == 1) return clear(unit);
  if (verb == "reboot" && (words.size() == 1 || (words.size() == 2 && words[1] == "lose"))) {
    unit.ask_reboot(words.size() == 2);
    return "ok\n";
  }
  static const Words known{"counters", "reset counters", "drop",         "drop-response", "delay", "refuse",
                           "ignore",   "clip",           "stuck",        "set",           "get",   "state",
                           "clear",    "reboot",         "forget-users", "notify"};
  return problem(
      fmt::format("'{}' is no command{}; see roadside-sim tell --help", verb, smi::suggestion(verb, known)));
}

}  // namespace vergeset::sim
