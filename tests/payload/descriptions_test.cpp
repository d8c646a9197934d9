#include <fmt/format.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>

#include "catch.h"
#include "intersections.h"
#include "notices.h"

using namespace vergeset::payloads;

namespace {

/// A file of this process alone (tests run side by side) that is gone when the test ends.
class Written {
 public:
  explicit Written(const std::string& text)
      : path_(std::filesystem::path(BINARY_DIR) / fmt::format("described-{}.yaml", getpid())) {
    std::ofstream(path_) << text;
  }
  Written(const Written&) = delete;
  Written& operator=(const Written&) = delete;
  ~Written() { std::filesystem::remove(path_); }
  std::string str() const { return path_.string(); }

 private:
  std::filesystem::path path_;
};

const std::string cross = R"(intersections:
  LK-900:
    id: 900
    place: North at East
    revision: 3
    latitude: 54.9000001
    longitude: -20.0000002
    elevation: 6.25
    lane-width: 4
    speed-limit: 30
    arms:
      - road: North
        bearing: 0
        stop-line: 10
        length: 100
        in:
          - {lane: 1, left: 4, signal-group: 2}
        out: [2]
      - road: East
        bearing: 90
        stop-line: 12
        length: 312
        in:
          - {lane: 3, right: 2, signal-group: 4}
        out: [4]
)";

Node sum(const std::vector<Node>& nodes) {
  Node total;
  for (const Node& node : nodes) {
    total.east += node.east;
    total.north += node.north;
  }
  return total;
}

std::string replaced(std::string text, const std::string& what, const std::string& by) {
  text.replace(text.find(what), what.size(), by);
  return text;
}

}  // namespace

TEST_CASE("lanes run out along their arm, traffic keeping to the right") {
  const Written file(cross);
  const Intersection at = read_intersections(file.str()).at("LK-900").intersections.at(0);
  CHECK(at.position.latitude == 549000001);
  CHECK(at.position.longitude == -200000002);
  REQUIRE(at.lanes.size() == 4);

  // Southbound traffic comes in on the west half of the north arm, two metres from its middle.
  const Lane& in = at.lanes[0];
  CHECK(in.ingress);
  CHECK(in.nodes.front().east == -200);
  CHECK(in.nodes.front().north == 1000);
  CHECK(sum(in.nodes).east == -200);
  CHECK(sum(in.nodes).north == 10000);
  CHECK(in.maneuvers == left);
  CHECK(in.connections.at(0).lane == 4);
  CHECK(in.connections.at(0).signal_group == 2);

  // Eastbound traffic leaves on the south half of the east arm, 300 m in three pieces.
  const Lane& out = at.lanes[3];
  CHECK(out.egress);
  CHECK(out.nodes.front().east == 1200);
  CHECK(out.nodes.front().north == -200);
  CHECK(out.nodes.size() == 4);
  CHECK(sum(out.nodes).east == 31200);
}

TEST_CASE("a road that bends by 90 degrees ends on its quarter circle") {
  const Written file(replaced(cross, "length: 312", "length: 312\n        bend: 90"));
  const Intersection at = read_intersections(file.str()).at("LK-900").intersections.at(0);
  const Node end = sum(at.lanes[3].nodes);
  // 300 m of a quarter circle have the radius 300 / (pi / 2) = 190.99 m; at its end the road runs
  // south, and its lane out lies two metres west.
  CHECK(std::abs(static_cast<double>(end.east) / 100 - (12 + 190.986 - 2)) < 0.02);
  CHECK(std::abs(static_cast<double>(end.north) / 100 - -190.986) < 0.02);
}

TEST_CASE("a lane that leads nowhere, or is there twice, is told with its place") {
  const Written nowhere(replaced(cross, "left: 4", "left: 3"));
  CHECK_THROWS_WITH(read_intersections(nowhere.str()),
                    Catch::Matchers::Contains(".yaml:3:5: lane 1 leads to lane 3"));
  const Written twice(replaced(cross, "out: [4]", "out: [4, 1]"));
  CHECK_THROWS_WITH(read_intersections(twice.str()), Catch::Matchers::Contains("lane 1 is there twice"));
}

TEST_CASE("a misspelt key is told with its place and the keys that are known") {
  const Written file(replaced(cross, "stop-line", "stopline"));
  CHECK_THROWS_WITH(read_intersections(file.str()),
                    Catch::Matchers::Contains(":14:9: \"stopline\" is not known here, only bearing, bend"));
}

TEST_CASE("a value that no message can hold is told with the intersection it belongs to") {
  const Written file(replaced(cross, "id: 900", "id: 65536"));
  CHECK_THROWS_WITH(read_intersections(file.str()),
                    Catch::Matchers::Contains(":2:3: id is 65536, and must be 0 to 65535"));
}

TEST_CASE("a notice begins at the minute of its year") {
  const std::string text = R"(notices:
  bend:
    frame: advisory
    content: advisory
    start: 2028-03-01T00:30Z
    priority: 4
    headings: [0, 22.5, 359]
    circle: {latitude: 54.9, longitude: -20, radius: 50}
    say: [1025, Bend]
)";
  const Written file(text);
  const Traveller notice = read_notices(file.str()).at("bend");
  CHECK(notice.year == 2028);
  CHECK(notice.minute == (31 + 29) * 1440 + 30);
  CHECK(notice.headings == 0xc001);
  CHECK(notice.duration == 32000);
  CHECK(notice.phrases == std::vector<Phrase>{1025, "Bend"});

  for (const char* start : {"2026-02-29T00:00Z", "2026-02-28T24:00Z", "2026-02-28", "2026-02-28T10:00"}) {
    const Written wrong(replaced(text, "2028-03-01T00:30Z", start));
    CHECK_THROWS_WITH(read_notices(wrong.str()), Catch::Matchers::Contains("must be a time in UTC"));
  }
}
