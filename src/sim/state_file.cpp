#include "sim/state_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

namespace vergeset::sim {

using nlohmann::json;

std::string state_text(const Store& store, std::uint32_t boots) {
  std::string text = fmt::format("{{\"unit\":{},\"model\":{},\"boots\":{}}}\n",
                                 json(store.nature().name).dump(), json(store.model().name).dump(), boots);
  for (const Store::Cell& cell : store.settable_cells())
    text += fmt::format("{{\"object\":\"{}\",\"index\":{},\"type\":\"{}\",\"value\":\"{}\"}}\n",
                        cell.object->name, cell.index, smi::type_name(cell.value.type),
                        smi::exact_text(cell.value));
  return text;
}

namespace {

/// A row or a count of starts, 0 where it is left out (snmpEngineBoots ends at 2^31-1: RFC 3414 2.2.2).
Result<std::uint32_t> count_of(const json& line, const char* name) {
  const auto found = line.find(name);
  if (found == line.end()) return 0U;
  if (!found->is_number_unsigned() || found->get<std::uint64_t>() > 2147483646)
    return Problem{fmt::format("'{}' is no number from 0 to 2147483646", name)};
  return found->get<std::uint32_t>();
}

Result<std::uint32_t> load_head(const Store& store, const json& head) {
  const std::string model = head.value("model", "");
  if (model != store.model().name)
    return Problem{
        fmt::format("is the state of a unit of model '{}', and this one is '{}'", model, store.model().name)};
  return count_of(head, "boots");
}

Result<bool> load_cell(Store& store, const json& line) {
  const std::string name = line.value("object", "");
  const schema::Object* object = store.model().object(name);
  if (object == nullptr) return Problem{fmt::format("model {} has no object '{}'", store.model().name, name)};
  const auto type = smi::type_named(line.value("type", ""));
  if (!type) return Problem{type.problem()};
  const auto value = smi::from_exact_text(*type, line.value("value", ""));
  if (!value) return Problem{name + ": " + value.problem()};
  const auto index = count_of(line, "index");
  if (!index) return Problem{index.problem()};
  return store.restore(*object, *index, *value);
}

}  // namespace

Result<std::uint32_t> load_state(Store& store, const std::string& text, std::int64_t now) {
  std::istringstream lines(text);
  std::string line;
  std::uint32_t boots = 0;
  if (text.empty()) return Problem{"is empty"};
  store.clear_rows();
  for (int number = 1; std::getline(lines, line); ++number) {
    const json read = json::parse(line, nullptr, false);
    if (!read.is_object()) return Problem{fmt::format("line {}: is no JSON object", number)};
    try {
      if (number == 1) {
        const auto head = load_head(store, read);
        if (!head) return Problem{fmt::format("line 1: {}", head.problem())};
        boots = *head;
      } else if (const auto loaded = load_cell(store, read); !loaded) {
        return Problem{fmt::format("line {}: {}", number, loaded.problem())};
      }
    } catch (const json::exception&) {
      return Problem{fmt::format("line {}: a member is of the wrong kind", number)};
    }
  }
  store.settle_mode(now);
  return boots;
}

Result<std::string> read_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) return Problem{fmt::format("cannot read {}: {}", path, std::strerror(errno))};
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

Result<bool> write_whole(const std::string& path, const std::string& text, Readers readers) {
  const std::string other = fmt::format("{}.new-{}", path, ::getpid());
  // Where one is left from before, it is made anew with rights of its own.
  ::unlink(other.c_str());
  const int made =
      ::open(other.c_str(), O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, readers == Readers::owner ? 0600 : 0666);
  if (made < 0) return Problem{fmt::format("cannot write {}: {}", other, std::strerror(errno))};
  ::close(made);
  {
    std::ofstream file(other, std::ios::binary | std::ios::trunc);
    file << text;
    file.flush();
    if (!file) return Problem{fmt::format("cannot write {}: {}", other, std::strerror(errno))};
  }
  if (std::rename(other.c_str(), path.c_str()) != 0)
    return Problem{fmt::format("cannot rename {} to {}: {}", other, path, std::strerror(errno))};
  return true;
}

}  // namespace vergeset::sim
