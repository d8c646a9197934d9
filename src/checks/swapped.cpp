#include "checks/swapped.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <unordered_map>

namespace vergeset::checks {

namespace {

bool is_number(const Point& point) {
  return std::isfinite(point.latitude) && std::isfinite(point.longitude);
}

/// Sites in cells at least `size` metres wide and high, so that what is nearer than that to a point is in its
/// cell or one beside it, at the poles and on both sides of the 180th meridian too.
class SiteGrid {
 public:
  SiteGrid(const std::vector<Stands>& units, double size) : row_degrees_(size / shortest_degree) {
    for (std::size_t i = 0; i < units.size(); ++i) {
      if (!units[i].site || !is_number(*units[i].site)) continue;
      const std::int64_t row = row_of(units[i].site->latitude);
      cells_[key(row, column_of(row, units[i].site->longitude))].push_back(i);
    }
  }

  template <class Visit>
  void near(const Point& point, const Visit& visit) const {
    for (std::int64_t row = row_of(point.latitude) - 1; row <= row_of(point.latitude) + 1; ++row) {
      const std::int64_t all = columns(row);
      const std::int64_t middle = column_of(row, point.longitude);
      const std::int64_t reach = all < 3 ? 0 : 1;
      for (std::int64_t column = all < 3 ? 0 : middle - reach; column <= (all < 3 ? all - 1 : middle + reach);
           ++column) {
        const auto cell = cells_.find(key(row, (column + all) % all));
        if (cell == cells_.end()) continue;
        for (const std::size_t unit : cell->second) visit(unit);
      }
    }
  }

 private:
  // A degree of latitude at the equator, and a little less; a degree of longitude there is longer.
  static constexpr double shortest_degree = 110000;

  std::int64_t row_of(double latitude) const {
    return static_cast<std::int64_t>(std::floor(latitude / row_degrees_));
  }
  /// Of a row, by its edge that is nearer to a pole.
  std::int64_t columns(std::int64_t row) const {
    const double south = static_cast<double>(row) * row_degrees_;
    const double farthest = std::max(std::abs(south), std::abs(south + row_degrees_));
    const double share = farthest >= 90 ? 0 : std::cos(farthest * std::numbers::pi / 180);
    return std::max<std::int64_t>(static_cast<std::int64_t>(360 * share / row_degrees_), 1);
  }
  std::int64_t column_of(std::int64_t row, double longitude) const {
    const double turn = longitude / 360 - std::floor(longitude / 360);
    const std::int64_t all = columns(row);
    return std::min(static_cast<std::int64_t>(turn * static_cast<double>(all)), all - 1);
  }
  static std::uint64_t key(std::int64_t row, std::int64_t column) {
    return static_cast<std::uint64_t>(row) << 32U ^ static_cast<std::uint64_t>(column);
  }

  double row_degrees_;
  std::unordered_map<std::uint64_t, std::vector<std::size_t>> cells_;
};

/// A unit that is not at home, and a site that it may stand on.
struct Guest {
  std::size_t unit;
  std::size_t host;
  double metres;
};

/// Which sites a unit that is not at home may stand on: the nearest, and others where that makes no
/// difference.
class Guests {
 public:
  Guests(const std::vector<Stands>& units, const SwapRule& rule)
      : units_(units), rule_(rule), grid_(units, rule.within_m), sites_of_(units.size()) {
    for (std::size_t i = 0; i < units.size(); ++i) find_sites(i);
  }

  /// The nearest first, and of these the lowest numbers.
  std::vector<Guest> all() const {
    std::vector<Guest> out;
    for (const auto& sites : sites_of_) out.insert(out.end(), sites.begin(), sites.end());
    std::stable_sort(out.begin(), out.end(),
                     [](const Guest& a, const Guest& b) { return a.metres < b.metres; });
    return out;
  }
  bool away(std::size_t unit) const { return !sites_of_[unit].empty(); }
  bool stands_on(std::size_t unit, std::size_t host) const {
    return std::ranges::any_of(sites_of_[unit], [&](const Guest& guest) { return guest.host == host; });
  }

 private:
  bool clearly_nearer(double metres, double from_own) const {
    return from_own - metres >= rule_.clear_m && 2 * metres <= from_own;
  }

  void find_sites(std::size_t unit) {
    const Stands& stands = units_[unit];
    if (!stands.site || !stands.found) return;
    const double from_own = metres_between(*stands.site, *stands.found);
    if (!(from_own >= rule_.clear_m)) return;
    std::vector<Guest>& sites = sites_of_[unit];
    double nearest = rule_.within_m;
    grid_.near(*stands.found, [&](std::size_t host) {
      if (host == unit) return;
      const double metres = metres_between(*units_[host].site, *stands.found);
      if (!(metres <= rule_.within_m) || !clearly_nearer(metres, from_own)) return;
      nearest = std::min(nearest, metres);
      sites.push_back({unit, host, metres});
    });
    // A metre is nothing to GNSS: sites so close together, as of two units on one pole, are one.
    std::erase_if(sites, [&](const Guest& guest) { return guest.metres > nearest + 1; });
  }

  const std::vector<Stands>& units_;
  const SwapRule& rule_;
  SiteGrid grid_;
  std::vector<std::vector<Guest>> sites_of_;
};

/// Gives each unit that is away one site, and each site one unit at most, as long as there are enough.
std::vector<std::optional<std::size_t>> assign(const Guests& guests, std::size_t count) {
  std::vector<std::optional<std::size_t>> on(count);
  std::vector<bool> taken(count, false);
  const std::vector<Guest> all = guests.all();
  const auto give = [&](const Guest& guest) {
    on[guest.unit] = guest.host;
    taken[guest.host] = true;
  };
  // Two that stand on each other's sites are the simplest story.
  for (const Guest& guest : all) {
    const bool open = !on[guest.unit] && !taken[guest.host] && !on[guest.host] && !taken[guest.unit];
    if (!open || !guests.stands_on(guest.host, guest.unit)) continue;
    give(guest);
    give({guest.host, guest.unit, 0});
  }
  for (const Guest& guest : all)
    if (!on[guest.unit] && !taken[guest.host] && guests.away(guest.host)) give(guest);
  for (const Guest& guest : all)
    if (!on[guest.unit]) on[guest.unit] = guest.host;
  return on;
}

/// Each unit leads to one other at most; those that come back to themselves.
std::vector<std::vector<std::size_t>> cycles_of(const std::vector<std::optional<std::size_t>>& on) {
  std::vector<std::vector<std::size_t>> cycles;
  std::vector<std::size_t> walk_of(on.size(), 0);  // 0: not been there
  for (std::size_t start = 0; start < on.size(); ++start) {
    std::optional<std::size_t> at = start;
    while (at && walk_of[*at] == 0) {
      walk_of[*at] = start + 1;
      at = on[*at];
    }
    if (!at || walk_of[*at] != start + 1) continue;
    std::vector<std::size_t> cycle{*at};
    for (std::size_t next = *on[*at]; next != *at; next = *on[next]) cycle.push_back(next);
    std::rotate(cycle.begin(), std::min_element(cycle.begin(), cycle.end()), cycle.end());
    cycles.push_back(std::move(cycle));
  }
  std::sort(cycles.begin(), cycles.end());
  return cycles;
}

}  // namespace

Swaps swapped(const std::vector<Stands>& units, const SwapRule& rule) {
  Swaps out;
  out.on_site_of = assign(Guests(units, rule), units.size());
  out.cycles = cycles_of(out.on_site_of);
  return out;
}

}  // namespace vergeset::checks
