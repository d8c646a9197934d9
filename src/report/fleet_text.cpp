#include "report/fleet_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "report/comparison_text.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

std::string groups_text(const fleet::Unit& unit) {
  std::string out;
  for (const std::vector<std::string>& level : unit.groups) {
    std::string equals;
    for (const std::string& group : level) equals += (equals.empty() ? "" : " + ") + group;
    out += (out.empty() ? "" : ", ") + equals;
  }
  return out;
}

std::string time_text(const std::string& stamp) {
  const bool utc = stamp.size() >= 17 && stamp[10] == 'T' && stamp.back() == 'Z';
  if (!utc) return stamp;
  std::string minute = stamp.substr(0, 16);
  minute.push_back('Z');
  return minute;
}

std::string units_text(const Screen& screen, const std::vector<const fleet::Unit*>& units,
                       const std::map<std::string, LastOutcome>& last) {
  Table table(0, {"unit", "address", "model", "groups", "last outcome"});
  for (const fleet::Unit* unit : units) {
    const auto found = last.find(unit->name);
    const std::string outcome =
        found == last.end()
            ? "none yet"
            : fmt::format("{}, {}, {}", found->second.outcome, found->second.of, time_text(found->second.at));
    table.add({unit->name, address_text(*unit), unit->model->name, groups_text(*unit), outcome});
  }
  return table.text(screen, true) + counted(units.size(), "unit") + "\n";
}

std::string fleet_text(const Screen& screen, const fleet::Fleet& fleet) {
  std::map<std::string, std::size_t> models;
  for (const fleet::Unit& unit : fleet.units) ++models[unit.model->title];
  Table table(2);
  for (const auto& [title, count] : models) table.add({title, counted(count, "unit")});
  return paragraph(screen,
                   fmt::format("{}: {}, {}, {}; no fault", fleet.name, counted(fleet.units.size(), "unit"),
                               counted(fleet.groups.size(), "group"), counted(fleet.files.size(), "file"))) +
         table.text(screen);
}

std::string faults_text(const Faults& faults, std::size_t most) {
  std::string out;
  const std::vector<Fault> all = faults.sorted();
  const std::size_t told = std::min(most, all.size());
  for (std::size_t i = 0; i < told; ++i) out += printable(all[i].str()) + "\n";
  if (told < all.size()) out += fmt::format("and {} more\n", all.size() - told);
  return out + counted(all.size(), "fault") + "\n";
}

}  // namespace vergeset::report
