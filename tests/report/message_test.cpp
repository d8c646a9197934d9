#include "catch.h"
#include "report/lanes_svg.h"
#include "report/message_text.h"
#include "smi/value.h"

using namespace vergeset;

namespace {

report::Screen eighty() {
  report::Screen screen;
  screen.width = 80;
  return screen;
}

j2735::Lane two_nodes(int id, std::int64_t east, std::int64_t north) {
  j2735::Lane lane;
  lane.id = id;
  lane.kind = j2735::LaneKind::vehicle;
  lane.nodes = {{j2735::Offset{east, north}}, {j2735::Offset{east * 10, north * 10}}};
  return lane;
}

/// Lane 1 comes in from the north and leads to lane 2, out to the east.
j2735::Map turn() {
  j2735::Intersection at;
  at.name = "Mill Lane at Sluice Street";
  at.id = {7, 4112};
  at.revision = 3;
  at.position = {549070000, -199980000, 151};
  at.lane_width = 340;
  at.lanes = {two_nodes(1, 0, 1000), two_nodes(2, 1000, 0)};
  at.lanes[0].ingress = true;
  at.lanes[0].ingress_approach = 1;
  at.lanes[0].connections = {{2, j2735::maneuver_left, {}, 5, {}, {}}};
  at.lanes[1].egress = true;
  at.lanes[1].egress_approach = 2;
  j2735::Map map;
  map.intersections = {at};
  return map;
}

j2735::Message message_with(j2735::Map map) {
  j2735::Message message;
  message.id = j2735::map_id;
  message.octets = 100;
  message.content = std::move(map);
  return message;
}

}  // namespace

TEST_CASE("a MAP is told as its intersections, with a table of lanes") {
  CHECK(report::message_text(eighty(), message_with(turn())) ==
        "MAP, 100 octets, whole\n"
        "  message revision   0\n"
        "\n"
        "intersection 4112 of region 7 \"Mill Lane at Sluice Street\"\n"
        "  revision          3\n"
        "  reference point   54.9070000, -19.9980000, 15.1 m\n"
        "  lane width        3.40 m\n"
        "\n"
        "  lane   approach   kind      length   nodes   connections\n"
        "  1      in 1       vehicle   100 m    2       left to 2 (signal 5)\n"
        "  2      out 2      vehicle   100 m    2\n");
}

// Published UPER sample messages of a connected-vehicle certification body, 2017; times of it are not stated
// (no year), its codes are 25 and mph (from memory).
TEST_CASE("traveller information is told as its packets, and what is not known as not known") {
  const auto octets = smi::from_hex("001f200000008000000001f4000000220000025fc180b914f6241019300188c4644420");
  const std::string text = report::message_text(eighty(), j2735::read_message(*octets));
  CHECK_THAT(text, Catch::StartsWith("traveller information (TIM), 35 octets, whole\n"));
  CHECK_THAT(text, Catch::Contains("  kind       road sign, speed limit\n"));
  CHECK_THAT(text, Catch::Contains("  until      told otherwise\n"));
  CHECK_THAT(text, Catch::Contains("circle of 50 m around 37.4556439, -121.9169661"));
  CHECK_THAT(text, Catch::Contains("  says       12569 (number 25), 8720 (mph)\n"));
}

TEST_CASE("a packet's times are dates where it names its year") {
  j2735::Traveller traveller;
  j2735::TravellerFrame frame;
  frame.year = 2028;
  frame.minute = (31 + 29) * 1440 + 90;  // 2028 is a leap year
  frame.duration = 1440;
  traveller.frames = {frame};
  j2735::Message message;
  message.id = j2735::tim_id;
  message.content = traveller;
  const std::string text = report::message_text(eighty(), message);
  CHECK_THAT(text, Catch::Contains("  from       2028-03-01T01:30Z\n") &&
                       Catch::Contains("  until      2028-03-02T01:30Z\n"));
  const auto json = report::message_json(message);
  CHECK(json["content"]["packets"][0]["from"] == "2028-03-01T01:30Z");
}

TEST_CASE("what is wrong with a payload stands above what was read of it") {
  const std::string text = report::message_text(eighty(), j2735::read_message(*smi::from_hex("00120200")));
  CHECK(text ==
        "MAP, 4 octets\n"
        "  truncated: its frame says 2 octets, 1 is there; it ends in MAP\n");
}

TEST_CASE("of a message that is not read beyond its kind the text says so") {
  CHECK(report::message_text(eighty(), j2735::read_message(*smi::from_hex("001d0100"))) ==
        "signal request (SRM), 4 octets\n  It is not read beyond its kind.\n");
}

TEST_CASE("names in a message cannot do anything to a terminal or in a drawing") {
  j2735::Map map = turn();
  map.intersections[0].name = "\x1b[2J</text><script>alert(1)</script>&\"";
  map.intersections[0].lanes[0].name = "<a href='x'>\n";
  CHECK(report::message_text(eighty(), message_with(map)).find('\x1b') == std::string::npos);
  const std::string svg = report::lanes_svg(map);
  CHECK(svg.find("<script") == std::string::npos);
  CHECK(svg.find("<a ") == std::string::npos);
  CHECK(svg.find('\x1b') == std::string::npos);
  CHECK(svg.find("&lt;script&gt;alert(1)&lt;/script&gt;&amp;&quot;") != std::string::npos);
}

TEST_CASE("a drawing shows each lane, its number and where it leads, and refers to nothing outside") {
  const std::string svg = report::lanes_svg(turn());
  const auto times = [&](const std::string& what) {
    std::size_t count = 0;
    for (std::size_t at = svg.find(what); at != std::string::npos; at = svg.find(what, at + 1)) ++count;
    return count;
  };
  // Close up and whole: lanes of 100 m that begin 10 m from the middle.
  CHECK(times("<polyline class=\"lane in\"") == 2);
  CHECK(times("<polyline class=\"lane out\"") == 2);
  CHECK(times("class=\"way\" d=") == 2);
  CHECK(times("<title>lane 1, vehicle, towards the intersection; leads to lane 2 by signal 5</title>") == 2);
  CHECK(times("href") == 0);
  CHECK(times("url(") == 0);
  CHECK(times("http") == 1);  // the name space
  CHECK(times("<svg") == times("</svg>"));
  CHECK(times("<g ") == times("</g>"));
}

TEST_CASE(
    "a lane that has no shape is named below the heading, and a MAP without any is drawn all the same") {
  j2735::Map map = turn();
  map.intersections[0].lanes[1].nodes.clear();
  map.intersections[0].lanes[1].computed = j2735::Computed{77, 0, 0, {}, {}, {}};
  CHECK_THAT(report::lanes_svg(map),
             Catch::Contains("lane 2 is not drawn: computed from lane 77, which is not there"));
  CHECK_THAT(report::lanes_svg({}), Catch::Contains("This MAP names no intersection."));
}
