#include "fleet/unit_maker.h"

#include <algorithm>
#include <numeric>
#include <optional>
#include <string_view>
#include <tuple>
#include <utility>

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

/// Tells each unit that has the same `of` as the first by name. Units where it is empty are passed over.
template <class Of>
void UnitMaker::check_alone(const char* what, Spot Spots::*spot, Of of) {
  const std::vector<Unit>& units = fleet_.units;
  std::vector<std::size_t> order(units.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return std::tuple(of(units[a]), std::string_view(units[a].name)) <
           std::tuple(of(units[b]), std::string_view(units[b].name));
  });
  std::size_t first = 0;
  for (std::size_t i = 1; i < order.size(); ++i) {
    const Unit& unit = units[order[i]];
    const Unit& other = units[order[first]];
    if (of(unit) != of(other)) {
      first = i;
    } else if (!of(unit).first.empty()) {
      const Spot& at = spots_[order[i]].*spot;
      faults_.add({unit.place.file, at.line, at.column}, "unit " + unit.name + " has the same " + what +
                                                             " as unit " + other.name + " at " +
                                                             other.place.str());
    }
  }
}

/// Two units behind one address, or of one engine id: one of them would be set as the other.
void UnitMaker::check_each_alone() {
  using Key = std::pair<std::string_view, std::uint16_t>;
  check_alone("address and port", &Spots::address,
              [](const Unit& unit) { return Key(unit.host, unit.port); });
  check_alone("engine id", &Spots::engine_id, [](const Unit& unit) { return Key(unit.engine_id, 0); });
}

void UnitMaker::finish() {
  seen_.clear();
  check_each_alone();
  std::sort(fleet_.units.begin(), fleet_.units.end(),
            [](const Unit& a, const Unit& b) { return a.name < b.name; });
  unit_faults_.report(faults_);
}

}  // namespace vergeset::fleet
