#include "sim/twin_text.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "sim/state_file.h"

namespace vergeset::sim {

using nlohmann::json;

namespace {

constexpr std::size_t most_twins = 100000;
constexpr std::size_t most_cells = 1000000;

Result<json> next_line(std::istream& lines) {
  std::string line;
  if (!std::getline(lines, line)) return Problem{"ends before all was described"};
  json read = json::parse(line, nullptr, false);
  if (!read.is_object()) return Problem{"a line is no JSON object"};
  return read;
}

Result<UnitStart> twin_from(const json& head) {
  UnitStart start;
  start.as_found = true;
  start.host = "127.0.0.1";
  start.port = 0;
  start.credential = twin_credential;
  start.name = head.value("unit", "");
  start.model = head.value("model", "");
  start.engine_id = head.value("engine-id", "");
  if (const auto mode = head.find("mode"); mode != head.end()) start.mode = mode->get<std::int64_t>();
  if (const auto pass = head.find("refuse-after"); pass != head.end()) start.refuse_after = pass->get<int>();
  const json quirks = head.value("needs-standby", json::object());
  for (const auto& [name, needs] : quirks.items()) start.standby_quirks.emplace_back(name, needs.get<bool>());
  for (const json& name : head.value("absent", json::array()))
    start.absent.push_back(name.get<std::string>());
  if (start.name.empty() || start.model.empty()) return Problem{"a twin has no name or no model"};
  return start;
}

Result<UnitStart::Cell> cell_from(const json& line) {
  const auto type = smi::type_named(line.value("type", ""));
  if (!type) return Problem{type.problem()};
  auto value = smi::from_exact_text(*type, line.value("value", ""));
  if (!value) return Problem{value.problem()};
  return UnitStart::Cell{line.value("object", ""), line.value("index", 0U), *std::move(value)};
}

Result<UnitStart> read_twin(std::istream& lines) {
  const auto head = next_line(lines);
  if (!head) return Problem{head.problem()};
  auto described = twin_from(*head);
  if (!described) return described;
  UnitStart start = *std::move(described);
  const auto cells = head->value("cells", std::size_t{0});
  if (cells > most_cells) return Problem{fmt::format("{} has too many values", start.name)};
  for (std::size_t i = 0; i < cells; ++i) {
    const auto line = next_line(lines);
    if (!line) return Problem{line.problem()};
    auto cell = cell_from(*line);
    if (!cell) return Problem{fmt::format("{}, value {}: {}", start.name, i + 1, cell.problem())};
    start.cells.push_back(*std::move(cell));
  }
  return start;
}

/// A member of the wrong kind is a problem of what was given, not a bug of ours.
template <class Made, class Make>
Result<Made> guarded(const Make& make) {
  try {
    return make();
  } catch (const json::exception&) {
    return Problem{"a member is of the wrong kind"};
  }
}

}  // namespace

Result<TwinUser> read_twin_user(std::istream& lines) {
  return guarded<TwinUser>([&]() -> Result<TwinUser> {
    const auto head = next_line(lines);
    if (!head) return Problem{head.problem()};
    TwinUser user{
        head->value("twins", std::size_t{0}), head->value("user", ""),    head->value("auth", ""),
        head->value("auth-secret", ""),       head->value("privacy", ""), head->value("privacy-secret", "")};
    if (user.twins == 0 || user.twins > most_twins || user.user.empty())
      return Problem{"the first line names no twins, or no user"};
    return user;
  });
}

Result<std::vector<UnitStart>> read_twins(std::istream& lines, std::size_t count) {
  return guarded<std::vector<UnitStart>>([&]() -> Result<std::vector<UnitStart>> {
    std::vector<UnitStart> twins;
    while (twins.size() < count) {
      auto twin = read_twin(lines);
      if (!twin) return Problem{twin.problem()};
      twins.push_back(*std::move(twin));
    }
    return twins;
  });
}

}  // namespace vergeset::sim
