#include <fmt/format.h>
#include <yaml-cpp/yaml.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <numbers>
#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "hex_file.h"

/// Feeds every MAP of a fleet to tshark and compares what it reads with intersections.yaml and with the
/// surveyed positions of the units. tshark knows the ETSI MAPEM: an ItsPduHeader (protocol version 2,
/// message id 5, station 1) before the same MapData.

namespace {

using nlohmann::json;

constexpr int skipped = 77;

/// Published UPER sample messages of a connected-vehicle certification body, 2017.
constexpr const char* published_map = "480000000000000000000000000000000000000000000000000000000000";

/// The pole stands at a corner, the reference point in the middle.
constexpr double pole_to_middle_m = 40;

/// What does not hold, printed as it is found.
struct Findings {
  int count = 0;
  int compared = 0;

  void add(const std::string& unit, const std::string& text) {
    ++count;
    fmt::print("{}: {}\n", unit, text);
  }
  template <typename Value>
  void equal(const std::string& unit, const std::string& what, const Value& read, const Value& described) {
    ++compared;
    if (read != described) {
      add(unit, fmt::format("{} reads {}, described is {}", what, read, described));
    }
  }
  void near(const std::string& unit, const std::string& what, double read, double described, double within) {
    ++compared;
    if (!(std::abs(read - described) <= within)) {
      add(unit, fmt::format("{} reads {:.2f}, described is {:.2f}", what, read, described));
    }
  }
};

int number(const json& text) {
  return std::stoi(text.get<std::string>());
}

/// "Item 0", "Item 1", ... of a list in tshark's JSON. By number: JSON objects are sorted by name.
std::vector<json> items(const json& tree, const std::string& element) {
  std::vector<json> list;
  for (std::size_t i = 0; tree.contains(fmt::format("Item {}", i)); ++i) {
    list.push_back(tree.at(fmt::format("Item {}", i)).at(element));
  }
  return list;
}

struct Point {
  double east = 0;
  double north = 0;
};

/// First and last node of a lane, metres from the reference point.
std::pair<Point, Point> ends_of(const json& lane) {
  Point first;
  Point here;
  bool any = false;
  for (const json& node : items(lane.at("dsrc.nodeList_tree").at("dsrc.nodes_tree"), "dsrc.NodeXY_element")) {
    for (const auto& [name, offset] : node.at("dsrc.delta_tree").items()) {
      here.east += number(offset.at("dsrc.x")) / 100.0;
      here.north += number(offset.at("dsrc.y")) / 100.0;
    }
    if (!any) {
      first = here;
    }
    any = true;
  }
  return {first, here};
}

/// Along the arm and to its right, seen outward.
Point seen_along(const Point& point, double bearing) {
  const double angle = bearing * std::numbers::pi / 180;
  return {point.east * std::cos(angle) - point.north * std::sin(angle),
          point.east * std::sin(angle) + point.north * std::cos(angle)};
}

struct LaneDescribed {
  int id = 0;
  bool in = false;
  int approach = 0;
  double aside = 0;  ///< m to the right of the arm's middle, seen outward
  YAML::Node arm;
  YAML::Node turns;
};

std::vector<LaneDescribed> lanes_described(const YAML::Node& intersection) {
  std::vector<LaneDescribed> lanes;
  const double width = intersection["lane-width"].as<double>();
  int approach = 0;
  for (const YAML::Node& arm : intersection["arms"]) {
    ++approach;
    double aside = -width / 2;
    for (const YAML::Node& turns : arm["in"]) {
      lanes.push_back({turns["lane"].as<int>(), true, approach, aside, arm, turns});
      aside -= width;
    }
    aside = width / 2;
    for (const YAML::Node& out : arm["out"]) {
      lanes.push_back({out.as<int>(), false, approach, aside, arm, {}});
      aside += width;
    }
  }
  return lanes;
}

void compare_turns(Findings& findings, const std::string& unit, const std::string& name,
                   const LaneDescribed& described, const json& lane) {
  std::vector<json> connections;
  if (lane.contains("dsrc.connectsTo_tree")) {
    connections = items(lane.at("dsrc.connectsTo_tree"), "dsrc.Connection_element");
  }
  std::size_t next = 0;
  for (const auto& [turn, flag] : {std::pair{"left", "maneuverLeftAllowed"},
                                   {"straight", "maneuverStraightAllowed"},
                                   {"right", "maneuverRightAllowed"}}) {
    const std::string bit = fmt::format("dsrc.AllowedManeuvers.{}", flag);
    const bool wanted = described.in && described.turns[turn].IsDefined();
    const bool read = described.in && number(lane.at("dsrc.maneuvers_tree").at(bit)) == 1;
    findings.equal(unit, fmt::format("{} {}", name, turn), read, wanted);
    if (!wanted || next >= connections.size()) {
      continue;
    }
    const json& connection = connections[next++];
    const json& to = connection.at("dsrc.connectingLane_element");
    findings.equal(unit, fmt::format("{} {} leads to lane", name, turn), number(to.at("dsrc.lane")),
                   described.turns[turn].as<int>());
    findings.equal(unit, fmt::format("{} connection {}", name, turn),
                   number(to.at("dsrc.maneuver_tree").at(bit)), 1);
    findings.equal(unit, fmt::format("{} {} signal group", name, turn),
                   number(connection.at("dsrc.signalGroup")), described.turns["signal-group"].as<int>());
  }
  findings.equal(unit, fmt::format("{} connections", name), connections.size(), next);
}

void compare_lane(Findings& findings, const std::string& unit, const LaneDescribed& described,
                  const json& lane) {
  const std::string name = fmt::format("lane {}", described.id);
  findings.equal(unit, "the number of a lane", number(lane.at("dsrc.laneID")), described.id);
  const json& use = lane.at("dsrc.laneAttributes_element").at("dsrc.directionalUse_tree");
  findings.equal(unit, name + " ingress", number(use.at("dsrc.LaneDirection.ingressPath")),
                 described.in ? 1 : 0);
  findings.equal(unit, name + " egress", number(use.at("dsrc.LaneDirection.egressPath")),
                 described.in ? 0 : 1);
  const char* approach = described.in ? "dsrc.ingressApproach" : "dsrc.egressApproach";
  findings.equal(unit, name + " approach", number(lane.at(approach)), described.approach);
  compare_turns(findings, unit, name, described, lane);

  const auto [first, last] = ends_of(lane);
  const double bearing = described.arm["bearing"].as<double>();
  const double stop_line = described.arm["stop-line"].as<double>();
  const double length = described.arm["length"].as<double>();
  const Point begin = seen_along(first, bearing);
  findings.near(unit, name + " begins, m along its arm,", begin.north, stop_line, 0.02);
  findings.near(unit, name + " begins, m right of its arm's middle,", begin.east, described.aside, 0.02);
  if (!described.arm["bend"].IsDefined()) {
    const Point end = seen_along(last, bearing);
    findings.near(unit, name + " ends, m along its arm,", end.north, length, 0.02);
    findings.near(unit, name + " ends, m right of its arm's middle,", end.east, described.aside, 0.02);
    return;
  }
  // A road bent by the angle b ends on a chord of sin(b/2)/(b/2), seen b/2 off; the lane's own offset
  // adds a metre or two.
  const double bend = described.arm["bend"].as<double>();
  const Point end = seen_along({last.east - first.east, last.north - first.north}, bearing + bend / 2);
  findings.near(unit, name + " ends, m from its begin,", end.north, length - stop_line, 3);
  findings.near(unit, name + " ends, m beside its chord,", end.east, 0, 0.5);
}

void compare(Findings& findings, const vergeset::fleet::Unit& unit, const YAML::Node& described,
             const json& map, int longitude_shift) {
  const std::vector<json> list =
      items(map.at("dsrc.intersections_tree"), "dsrc.IntersectionGeometry_element");
  findings.equal(unit.name, "intersections", list.size(), std::size_t{1});
  const json& at = list.at(0);
  findings.equal(unit.name, "id", number(at.at("dsrc.id_element").at("dsrc.id")), described["id"].as<int>());
  findings.equal(unit.name, "name", at.at("dsrc.name").get<std::string>(),
                 described["place"].as<std::string>());
  findings.equal(unit.name, "revision", number(at.at("dsrc.revision")), described["revision"].as<int>());

  const json& point = at.at("dsrc.refPoint_element");
  const int latitude = number(point.at("dsrc.lat"));
  const int longitude = number(point.at("dsrc.long")) + longitude_shift;
  const auto steps = [](const YAML::Node& degrees) {
    return static_cast<int>(std::lround(degrees.as<double>() * 1e7));
  };
  findings.equal(unit.name, "latitude", latitude, steps(described["latitude"]));
  findings.equal(unit.name, "longitude", longitude, steps(described["longitude"]));
  constexpr double metres_a_degree = 111'320;
  const double north = (latitude / 1e7 - unit.site.latitude.value()) * metres_a_degree;
  const double east = (longitude / 1e7 - unit.site.longitude.value()) * metres_a_degree *
                      std::cos(latitude / 1e7 * std::numbers::pi / 180);
  findings.near(unit.name, "distance to the surveyed pole, m,", std::hypot(north, east), 0, pole_to_middle_m);

  const std::vector<LaneDescribed> lanes = lanes_described(described);
  const std::vector<json> read = items(at.at("dsrc.laneSet_tree"), "dsrc.GenericLane_element");
  findings.equal(unit.name, "lanes", read.size(), lanes.size());
  for (std::size_t i = 0; i < std::min(read.size(), lanes.size()); ++i) {
    compare_lane(findings, unit.name, lanes[i], read[i]);
  }
}

/// One line of text2pcap's input is a packet: its offset, then its octets.
std::string packet(const std::string& map_data) {
  std::string line = "000000 02 05 00 00 00 01";
  for (const char c : map_data) {
    line += fmt::format(" {:02x}", static_cast<unsigned char>(c));
  }
  return line + "\n";
}

bool run(const std::string& command) {
  return std::system(command.c_str()) == 0;
}

/// The MapData that tshark reads in each packet.
std::vector<json> read_by_tshark(const std::filesystem::path& folder, const std::string& packets) {
  std::filesystem::create_directories(folder);
  std::ofstream(folder / "maps.txt") << packets;
  if (!run(fmt::format("cd '{}' && text2pcap -q -P its maps.txt maps.pcapng >text2pcap.log 2>&1 && "
                       "tshark -r maps.pcapng -T json --no-duplicate-keys >maps.json 2>tshark.log",
                       folder.string()))) {
    throw std::runtime_error(fmt::format("text2pcap or tshark failed; see the logs in {}", folder.string()));
  }
  std::ifstream in(folder / "maps.json");
  std::vector<json> maps;
  for (const json& read : json::parse(in)) {
    maps.push_back(read.at("_source").at("layers").at("its").at("dsrc.MapData_element"));
  }
  return maps;
}

int check(const std::string& folder, const std::string& schemas, const std::string& work) {
  vergeset::Faults faults;
  const vergeset::fleet::Fleet fleet = vergeset::fleet::load_fleet(folder, schemas, faults);
  for (const vergeset::Fault& fault : faults.sorted()) {
    fmt::print("{}\n", fault.str());
  }
  const YAML::Node described = YAML::LoadFile(folder + "/payloads/intersections.yaml")["intersections"];
  std::string packets = "000000 02 05 00 00 00 01";
  for (std::size_t i = 0; published_map[i] != '\0'; i += 2) {
    packets += fmt::format(" {:.2}", published_map + i);
  }
  packets += "\n";
  std::vector<const vergeset::fleet::Unit*> units;
  for (const auto& unit : fleet.units) {
    if (unit.in_group("signals")) {
      units.push_back(&unit);
      packets += packet(message_in(hex_file(folder + "/payloads/" + unit.name + "-map.hex"), 18));
    }
  }
  const std::vector<json> maps = read_by_tshark(work, packets);

  Findings findings;
  findings.equal("fleet", "faults", faults.count(), std::size_t{0});
  findings.equal("fleet", "signalised units", units.size(), described.size());
  findings.equal("fleet", "MAPs read", maps.size(), units.size() + 1);
  // ETSI lets longitudes begin at -1800000000, J2735 at -1799999999 as the published message says of
  // itself: what tshark reads in it tells how far the two are apart.
  const json& sample =
      maps.at(0).at("dsrc.intersections_tree").at("Item 0").at("dsrc.IntersectionGeometry_element");
  const json& least = sample.at("dsrc.refPoint_element");
  findings.equal("published MAP", "latitude", number(least.at("dsrc.lat")), -900000000);
  const int shift = -1799999999 - number(least.at("dsrc.long"));
  findings.near("published MAP", "longitude beyond tshark's", shift, 0, 1);
  for (std::size_t i = 0; i < units.size() && i + 1 < maps.size(); ++i) {
    compare(findings, *units[i], described[units[i]->name], maps[i + 1], shift);
  }
  fmt::print("{} MAPs, {} values compared, {} differ\n", units.size(), findings.compared, findings.count);
  return findings.count == 0 && !units.empty() ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) {
    fmt::print(stderr, "Usage: map_check FLEET SCHEMAS FOLDER-FOR-RESULTS\n");
    return 2;
  }
  if (!run("tshark --version >/dev/null 2>&1 && command -v text2pcap >/dev/null")) {
    fmt::print("tshark is not there (package tshark): nothing was checked\n");
    return skipped;
  }
  try {
    return check(argv[1], argv[2], argv[3]);
  } catch (const std::exception& fault) {
    fmt::print("{}\n", fault.what());
    return 1;
  }
}
