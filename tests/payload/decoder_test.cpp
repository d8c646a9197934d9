#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "catch.h"
#include "checks/lane_shape.h"
#include "checks/message.h"
#include "fleet/payload_file.h"
#include "intersections.h"
#include "notices.h"

/// The payloads of Larkmoor, read by the decoder and held against the descriptions that they were made of.

using namespace vergeset;

namespace {

const std::string folder = SOURCE_DIR "/inventories/larkmoor/payloads/";

std::string payload(const std::string& name) {
  std::ifstream in(folder + name + ".hex");
  std::stringstream text;
  text << in.rdbuf();
  Faults faults;
  const auto octets = fleet::parse_payload(text.str(), name, faults);
  REQUIRE(octets);
  return *octets;
}

std::optional<int> plain(const std::optional<std::int64_t>& number) {
  return number ? std::optional(static_cast<int>(*number)) : std::nullopt;
}

void same_position(const j2735::Position& read, const payloads::Position& described) {
  CHECK(read.latitude == described.latitude);
  CHECK(read.longitude == described.longitude);
  CHECK(read.elevation == described.elevation);
}

void same_nodes(const std::vector<j2735::Node>& read, const std::vector<payloads::Node>& described) {
  REQUIRE(read.size() == described.size());
  for (std::size_t i = 0; i < read.size(); ++i) {
    CHECK(read[i] == j2735::Node{j2735::Offset{described[i].east, described[i].north}});
  }
}

void same_lane(const j2735::Lane& read, const payloads::Lane& described) {
  CHECK(read.id == described.id);
  CHECK(read.name.empty());
  CHECK(read.ingress_approach == described.ingress_approach);
  CHECK(read.egress_approach == described.egress_approach);
  CHECK(read.ingress == described.ingress);
  CHECK(read.egress == described.egress);
  CHECK(read.shared_with == described.shared_with);
  CHECK(read.kind == j2735::LaneKind::vehicle);
  CHECK(read.maneuvers == described.maneuvers);
  same_nodes(read.nodes, described.nodes);
  REQUIRE(read.connections.size() == described.connections.size());
  for (std::size_t i = 0; i < read.connections.size(); ++i) {
    const payloads::Connection& to = described.connections[i];
    CHECK(read.connections[i] == j2735::Connection{to.lane, to.maneuvers, {}, to.signal_group, {}, to.id});
  }
}

void same_map(const j2735::Map& read, const payloads::Map& described) {
  CHECK(read.minute == plain(described.minute));
  CHECK(read.revision == described.revision);
  REQUIRE(read.intersections.size() == described.intersections.size());
  for (std::size_t i = 0; i < read.intersections.size(); ++i) {
    const j2735::Intersection& at = read.intersections[i];
    const payloads::Intersection& wanted = described.intersections[i];
    CHECK(at.name == wanted.name);
    CHECK(at.id == j2735::Reference{wanted.region, wanted.id});
    CHECK(at.revision == wanted.revision);
    CHECK(at.lane_width == wanted.lane_width);
    same_position(at.position, wanted.position);
    REQUIRE(at.lanes.size() == wanted.lanes.size());
    for (std::size_t lane = 0; lane < at.lanes.size(); ++lane) same_lane(at.lanes[lane], wanted.lanes[lane]);
  }
}

void same_region(const j2735::Region& read, const payloads::Traveller& described) {
  CHECK(read.headings == unsigned{described.headings});
  if (const auto* circle = std::get_if<payloads::Circle>(&described.region)) {
    REQUIRE(read.circle);
    same_position(read.circle->centre, circle->centre);
    CHECK(read.circle->radius == circle->radius);
    CHECK(read.circle->unit == 3);  // metres
    return;
  }
  const auto& path = std::get<payloads::Path>(described.region);
  REQUIRE(read.anchor);
  same_position(*read.anchor, path.anchor);
  CHECK(read.lane_width == path.lane_width);
  same_nodes(read.path.nodes, path.nodes);
}

}  // namespace

TEST_CASE("every MAP of Larkmoor is read as its intersection is described") {
  const auto described = payloads::read_intersections(folder + "intersections.yaml");
  REQUIRE(described.size() > 20);
  for (const auto& [unit, map] : described) {
    INFO(unit);
    const j2735::Message message = j2735::read_message(payload(unit + "-map"));
    CHECK(message.id == j2735::map_id);
    CHECK(message.flaws.empty());
    REQUIRE(message.map() != nullptr);
    same_map(*message.map(), map);
  }
}

TEST_CASE("every notice of Larkmoor is read as it is described") {
  const auto described = payloads::read_notices(folder + "notices.yaml");
  REQUIRE(described.size() > 5);
  for (const auto& [name, notice] : described) {
    INFO(name);
    const j2735::Message message = j2735::read_message(payload(name));
    CHECK(message.id == j2735::tim_id);
    CHECK(message.flaws.empty());
    REQUIRE(message.traveller() != nullptr);
    REQUIRE(message.traveller()->frames.size() == 1);
    const j2735::TravellerFrame& frame = message.traveller()->frames[0];
    CHECK(frame.kind == static_cast<j2735::FrameKind>(notice.frame));
    CHECK(frame.year == notice.year);
    CHECK(frame.minute == notice.minute);
    CHECK(frame.duration == notice.duration);
    CHECK(frame.priority == notice.priority);
    CHECK(frame.content == static_cast<j2735::ContentKind>(notice.content));
    CHECK(frame.phrases == notice.phrases);
    REQUIRE(frame.regions.size() == 1);
    same_region(frame.regions[0], notice);
  }
}

TEST_CASE("every payload of Larkmoor that ends early is told as truncated, wherever it ends") {
  int cut = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().extension() != ".hex") continue;
    const std::string whole = payload(entry.path().stem().string());
    for (std::size_t size = 0; size < whole.size(); ++size, ++cut) {
      const j2735::Message message = j2735::read_message(whole.substr(0, size));
      const bool told = message.flaws.size() == 1 && message.flaws[0].kind == j2735::Flaw::Kind::truncated;
      if (!told) FAIL(entry.path() << " cut to " << size);
    }
  }
  CHECK(cut > 5000);
}
