#include "fleet/unit_maker.h"

#include <algorithm>
#include <numeric>
#include <optional>

namespace vergeset::fleet {

UnitMaker::UnitMaker(Fleet& fleet, const FleetFile& file, const std::map<std::string, Layer>& groups,
                     Faults& faults)
    : fleet_(fleet),
      file_(file),
      groups_(groups),
      faults_(faults),
      names_(*fleet.schema),
      payloads_(fleet.folder, faults) {
  check_names(file.layer, names_, faults);
  for (const auto& [group, layer] : groups) check_names(layer, names_, faults);
}

/// A second entry of a name is a fault and is not used.
bool UnitMaker::is_first(const UnitEntry& entry) {
  const auto [seen, first] = seen_.try_emplace(entry.name, entry.place);
  if (first) return true;
  faults_.add(entry.place, "unit " + entry.name + " is here a second time, after " + seen->second.str());
  seen->second = entry.place;
  return false;
}

void UnitMaker::take(const UnitEntry& entry) {
  if (!is_first(entry)) return;
  check_names(entry.layer, names_, faults_);
  auto unit = make_unit(entry, fleet_, file_, faults_);
  if (!unit) return;
  const Reading reading{*unit, *fleet_.schema, names_, payloads_, unit_faults_, settled_};
  shapes_.resolve(*unit, {&file_.layer, &groups_, &entry.layer}, reading);
  const auto spot = [](const std::optional<Written>& written) {
    return written ? Spot{written->place.line, written->place.column} : Spot{};
  };
  spots_.push_back({spot(entry.address), spot(entry.engine_id)});
  fleet_.units.push_back(std::move(*unit));
}

void UnitMaker::tell_same(const Unit& unit, const Spot& spot, const std::string& what, const Unit& first) {
  faults_.add(
      {unit.place.file, spot.line, spot.column},
      "unit " + unit.name + " has the same " + what + " as unit " + first.name + " at " + first.place.str());
}

/// Two units behind one address, or of one engine id: one of them would be set as the other.
void UnitMaker::check_each_alone() {
  const std::vector<Unit>& units = fleet_.units;
  std::vector<std::size_t> by_name(units.size());
  std::iota(by_name.begin(), by_name.end(), std::size_t{0});
  std::sort(by_name.begin(), by_name.end(),
            [&](std::size_t a, std::size_t b) { return units[a].name < units[b].name; });
  std::unordered_map<std::string, std::size_t> addresses;
  std::unordered_map<std::string_view, std::size_t> engine_ids;
  for (const std::size_t at : by_name) {
    const Unit& unit = units[at];
    if (!unit.host.empty()) {
      const std::string address = unit.host + " " + std::to_string(unit.port);
      const auto [first, alone] = addresses.try_emplace(address, at);
      if (!alone) tell_same(unit, spots_[at].address, "address and port", units[first->second]);
    }
    if (!unit.engine_id.empty()) {
      const auto [first, alone] = engine_ids.try_emplace(unit.engine_id, at);
      if (!alone) tell_same(unit, spots_[at].engine_id, "engine id", units[first->second]);
    }
  }
}

void UnitMaker::finish() {
  seen_.clear();
  check_each_alone();
  std::sort(fleet_.units.begin(), fleet_.units.end(),
            [](const Unit& a, const Unit& b) { return a.name < b.name; });
  unit_faults_.report(faults_);
}

}  // namespace vergeset::fleet
