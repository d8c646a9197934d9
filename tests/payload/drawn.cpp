#include "drawn.h"

#include <fmt/format.h>

#include <initializer_list>

namespace vergeset::payloads {

using namespace j2735;

std::int64_t Dice::number(std::int64_t low, std::int64_t high) {
  if (one_in(10)) return low;
  if (one_in(9)) return high;
  return low + static_cast<std::int64_t>(engine_() % static_cast<std::uint64_t>(high - low + 1));
}

namespace {

std::string tag(const std::string& name, const std::string& inside) {
  return "<" + name + ">" + inside + "</" + name + ">";
}

std::string tag(const std::string& name, std::int64_t number) {
  return tag(name, std::to_string(number));
}

std::string bits_text(std::uint64_t bits, int count) {
  std::string text;
  for (int i = count - 1; i >= 0; --i) text += (bits >> i & 1U) != 0 ? '1' : '0';
  return text;
}

/// Draws fields and keeps their XER, in the order of the calls.
class Drawing {
 public:
  Drawing(Dice& by, const Habits& as) : dice(by), habits(as) {}

  std::int64_t number(const std::string& name, std::int64_t low, std::int64_t high) {
    const std::int64_t value = dice.number(low, high);
    xer += tag(name, value);
    return value;
  }
  int integer(const std::string& name, std::int64_t low, std::int64_t high) {
    return static_cast<int>(number(name, low, high));
  }
  std::optional<int> maybe(const std::string& name, std::int64_t low, std::int64_t high) {
    if (!dice.one_in(2)) return std::nullopt;
    return integer(name, low, high);
  }
  std::string text(const std::string& name, int most) {
    std::string letters;
    for (auto left = dice.number(1, most); left > 0; --left) {
      letters += static_cast<char>(dice.number(left % 2 == 0 ? 'a' : '0', left % 2 == 0 ? 'z' : '9'));
    }
    xer += tag(name, letters);
    return letters;
  }
  std::string maybe_text(const std::string& name, int most) { return dice.one_in(3) ? text(name, most) : ""; }
  unsigned bits(const std::string& name, int count) {
    const auto value = static_cast<unsigned>(dice.number(0, (1 << count) - 1));
    xer += tag(name, bits_text(value, count));
    return value;
  }
  std::string octets(const std::string& name, int low, int high) {
    std::string octets;
    std::string hex;
    for (auto left = dice.number(low, high); left > 0; --left) {
      const auto octet = static_cast<unsigned>(dice.number(0, 255));
      octets += static_cast<char>(octet);
      hex += fmt::format("{:02X}", octet);
    }
    xer += tag(name, hex);
    return octets;
  }
  unsigned word(const std::string& name, std::initializer_list<const char*> words) {
    const auto which = static_cast<unsigned>(dice.number(0, static_cast<std::int64_t>(words.size()) - 1));
    xer += tag(name, fmt::format("<{}/>", words.begin()[which]));
    return which;
  }
  void yes_or_no(const std::string& name) { word(name, {"false", "true"}); }
  /// What only a later version of the grammar has, now and then.
  bool later(int one_in) {
    if (!habits.additions || !dice.one_in(one_in)) return false;
    octets("later", 0, 20);
    return true;
  }
  void addition(int one_in = 6) { later(one_in); }
  void one_regional(const std::string& name) {
    within(name, [&] {
      number("regionId", 128, 255);
      octets("regExtValue", 1, 9);
    });
  }
  void regional() {
    if (!habits.regional || !dice.one_in(6)) return;
    within("regional", [&] {
      for (auto left = dice.number(1, 4); left > 0; --left) one_regional("RegionalExtension");
    });
  }
  template <class Inside>
  void within(const std::string& name, Inside inside) {
    xer += "<" + name + ">";
    inside();
    xer += "</" + name + ">";
  }
  template <class Inside>
  void list(const std::string& name, std::int64_t low, std::int64_t high, Inside inside) {
    within(name, [&] {
      for (auto left = dice.number(low, high); left > 0; --left) inside();
    });
  }

  Dice& dice;
  const Habits& habits;
  std::string xer;
};

std::int64_t draw_longitude(Drawing& on, const char* name) {
  return on.habits.odd_longitude ? on.number(name, -1'799'999'999, 1'800'000'001)
                                 : on.number(name, -1'799'999'000, 1'799'999'000);
}

Position draw_position(Drawing& on, const std::string& name) {
  Position position;
  on.within(name, [&] {
    position.latitude = on.number("lat", -900'000'000, 900'000'001);
    position.longitude = draw_longitude(on, "long");
    if (const auto elevation = on.maybe("elevation", -4096, 61'439)) position.elevation = *elevation;
    on.regional();
    on.addition(20);
  });
  return position;
}

Reference draw_reference(Drawing& on, const std::string& name) {
  Reference reference;
  on.within(name, [&] {
    reference.region = on.maybe("region", 0, 65'535);
    reference.id = on.integer("id", 0, 65'535);
  });
  return reference;
}

void draw_speed_limits(Drawing& on, const std::string& name) {
  on.list(name, 1, 9, [&] {
    on.within("RegulatorySpeedLimit", [&] {
      if (on.habits.additions && on.dice.one_in(9)) {
        on.word("type", {"later"});
      } else {
        on.word("type", {"unknown", "vehicleMaxSpeed", "vehiclesWithTrailersNightMaxSpeed"});
      }
      on.number("speed", 0, 8191);
    });
  });
}

void draw_segment_attributes(Drawing& on, const std::string& name) {
  if (!on.dice.one_in(3)) return;
  on.list(name, 1, 8, [&] { on.xer += on.dice.one_in(2) ? "<unEvenPavementPresent/>" : "<doNotBlock/>"; });
}

void draw_lane_data(Drawing& on) {
  on.list("data", 1, 8, [&] {
    if (on.later(20)) return;
    switch (on.dice.number(0, 5)) {
      case 0:
        on.number("pathEndPointAngle", -150, 150);
        break;
      case 1:
        on.number("laneCrownPointCenter", -128, 127);
        break;
      case 2:
        on.number("laneCrownPointRight", -128, 127);
        break;
      case 3:
        on.number("laneAngle", -180, 180);
        break;
      default:
        draw_speed_limits(on, "speedLimits");
    }
  });
}

void draw_attributes(Drawing& on, Node& node) {
  on.within("attributes", [&] {
    if (on.dice.one_in(2)) {
      on.list("localNode", 1, 8, [&] {
        if (on.habits.additions && on.dice.one_in(20)) {
          on.xer += "<later/>";
          return;
        }
        const bool stop_line = on.dice.one_in(3);
        node.stop_line = node.stop_line || stop_line;
        on.xer += stop_line ? "<stopLine/>" : "<hydrantPresent/>";
      });
    }
    draw_segment_attributes(on, "disabled");
    draw_segment_attributes(on, "enabled");
    if (on.dice.one_in(3)) draw_lane_data(on);
    node.width = on.maybe("dWidth", -512, 511).value_or(0);
    node.elevation = on.maybe("dElevation", -512, 511).value_or(0);
    on.regional();
    on.addition();
  });
}

constexpr std::int64_t plane_reach[] = {512, 1024, 2048, 4096, 8192, 32'768};
constexpr std::int64_t degree_reach[] = {2048, 8192, 32'768, 131'072, 2'097'152, 8'388'608};

Node draw_node(Drawing& on) {
  Node node;
  on.within("NodeXY", [&] {
    const auto form = on.dice.number(0, on.habits.regional ? 7 : 6);
    on.within("delta", [&] {
      if (form == 7) {
        on.one_regional("regional");
        node.at = std::monostate{};
      } else if (form == 6) {
        on.within("node-LatLon", [&] {
          Fix fix;
          fix.longitude = draw_longitude(on, "lon");
          fix.latitude = on.number("lat", -900'000'000, 900'000'001);
          node.at = fix;
        });
      } else {
        on.within(fmt::format("node-XY{}", form + 1), [&] {
          Offset offset;
          offset.east = on.number("x", -plane_reach[form], plane_reach[form] - 1);
          offset.north = on.number("y", -plane_reach[form], plane_reach[form] - 1);
          node.at = offset;
        });
      }
    });
    if (on.dice.one_in(4)) draw_attributes(on, node);
  });
  return node;
}

std::int64_t draw_driven(Drawing& on, const std::string& name) {
  std::int64_t value = 0;
  on.within(name, [&] {
    const bool small = on.dice.one_in(2);
    value = small ? on.number("small", -2047, 2047) : on.number("large", -32'767, 32'767);
  });
  return value;
}

NodeList draw_node_list(Drawing& on, const std::string& name) {
  NodeList list;
  on.within(name, [&] {
    if (on.later(30)) return;
    if (!on.dice.one_in(8)) {
      const auto most = on.dice.one_in(12) ? 63 : 6;
      return on.list("nodes", 2, most, [&] { list.nodes.push_back(draw_node(on)); });
    }
    on.within("computed", [&] {
      Computed lane;
      lane.lane = on.integer("referenceLaneId", 0, 255);
      lane.east = draw_driven(on, "offsetXaxis");
      lane.north = draw_driven(on, "offsetYaxis");
      lane.turn = on.maybe("rotateXY", 0, 28'800);
      lane.scale_east = on.maybe("scaleXaxis", -2048, 2047);
      lane.scale_north = on.maybe("scaleYaxis", -2048, 2047);
      on.regional();
      list.computed = lane;
    });
  });
  return list;
}

void draw_lane_attributes(Drawing& on, Lane& lane) {
  on.within("laneAttributes", [&] {
    const unsigned use = on.bits("directionalUse", 2);
    lane.ingress = (use & 2U) != 0;
    lane.egress = (use & 1U) != 0;
    lane.shared_with = on.bits("sharedWith", 10);
    on.within("laneType", [&] {
      constexpr const char* kinds[] = {"vehicle", "crosswalk", "bikeLane",       "sidewalk",
                                       "median",  "striping",  "trackedVehicle", "parking"};
      if (on.later(20)) return;
      const auto kind = static_cast<std::size_t>(on.dice.number(0, 7));
      lane.kind = static_cast<LaneKind>(kind);
      if (kind == 0 && on.habits.additions && on.dice.one_in(6)) {
        lane.kind_attributes = on.bits(kinds[kind], 11) >> 3U;  // three of a later version
      } else {
        lane.kind_attributes = on.bits(kinds[kind], kind == 0 ? 8 : 16);
      }
    });
    if (on.habits.regional && on.dice.one_in(6)) on.one_regional("regional");
  });
}

Connection draw_connection(Drawing& on) {
  Connection to;
  on.within("Connection", [&] {
    on.within("connectingLane", [&] {
      to.lane = on.integer("lane", 0, 255);
      if (on.dice.one_in(2)) to.maneuvers = on.bits("maneuver", 12);
    });
    if (on.dice.one_in(3)) to.remote = draw_reference(on, "remoteIntersection");
    to.signal_group = on.maybe("signalGroup", 0, 255);
    to.user_class = on.maybe("userClass", 0, 255);
    to.id = on.maybe("connectionID", 0, 255);
  });
  return to;
}

Lane draw_lane(Drawing& on) {
  Lane lane;
  on.within("GenericLane", [&] {
    lane.id = on.integer("laneID", 0, 255);
    lane.name = on.maybe_text("name", 63);
    lane.ingress_approach = on.maybe("ingressApproach", 0, 15);
    lane.egress_approach = on.maybe("egressApproach", 0, 15);
    draw_lane_attributes(on, lane);
    if (on.dice.one_in(2)) lane.maneuvers = on.bits("maneuvers", 12);
    NodeList list = draw_node_list(on, "nodeList");
    lane.nodes = std::move(list.nodes);
    lane.computed = list.computed;
    if (on.dice.one_in(2)) {
      on.list("connectsTo", 1, 16, [&] { lane.connections.push_back(draw_connection(on)); });
    }
    if (on.dice.one_in(4)) {
      on.list("overlays", 1, 5, [&] { lane.overlays.push_back(on.integer("LaneID", 0, 255)); });
    }
    on.regional();
    on.addition();
  });
  return lane;
}

Intersection draw_place(Drawing& on, bool segment) {
  Intersection at;
  on.within(segment ? "RoadSegment" : "IntersectionGeometry", [&] {
    at.name = on.maybe_text("name", 63);
    at.id = draw_reference(on, "id");
    at.revision = on.integer("revision", 0, 127);
    at.position = draw_position(on, "refPoint");
    at.lane_width = on.maybe("laneWidth", 0, 32'767);
    if (on.dice.one_in(3)) draw_speed_limits(on, "speedLimits");
    on.list(segment ? "roadLaneSet" : "laneSet", 1, 4, [&] { at.lanes.push_back(draw_lane(on)); });
    if (!segment && on.habits.regional && on.dice.one_in(4)) {
      on.list("preemptPriorityData", 1, 32,
              [&] { on.within("SignalControlZone", [&] { on.one_regional("zone"); }); });
    }
    on.regional();
    if (!segment) on.addition();
  });
  return at;
}

void draw_restrictions(Drawing& on) {
  on.list("restrictionList", 1, 9, [&] {
    on.within("RestrictionClassAssignment", [&] {
      on.number("id", 0, 255);
      on.list("users", 1, 16, [&] {
        on.word("basicType", {"none", "otherUnknownDisabilities", "pedestrians"});
      });
    });
  });
}

void draw_timing(Drawing& on) {
  on.within("timing", [&] {
    on.maybe("startTime", 0, 36'001);
    on.number("minEndTime", 0, 36'001);
    on.maybe("maxEndTime", 0, 36'001);
    on.maybe("likelyTime", 0, 36'001);
    on.maybe("confidence", 0, 15);
    on.maybe("nextTime", 0, 36'001);
  });
}

void draw_assists(Drawing& on) {
  if (!on.dice.one_in(4)) return;
  on.list("maneuverAssistList", 1, 5, [&] {
    on.within("ConnectionManeuverAssist", [&] {
      on.number("connectionID", 0, 255);
      on.maybe("queueLength", 0, 10'000);
      on.maybe("availableStorageLength", 0, 10'000);
      if (on.dice.one_in(2)) on.yes_or_no("waitOnStop");
      if (on.dice.one_in(2)) on.yes_or_no("pedBicycleDetect");
      on.regional();
    });
  });
}

void draw_speeds(Drawing& on) {
  on.list("speeds", 1, 4, [&] {
    on.within("AdvisorySpeed", [&] {
      on.word("type", {"none", "greenwave", "ecoDrive", "transit"});
      on.maybe("speed", 0, 500);
      if (on.dice.one_in(2)) on.word("confidence", {"unavailable", "prec0-01ms"});
      on.maybe("distance", 0, 10'000);
      on.maybe("class", 0, 255);
      on.regional();
    });
  });
}

void draw_movement(Drawing& on) {
  on.within("MovementState", [&] {
    on.maybe_text("movementName", 63);
    on.number("signalGroup", 0, 255);
    on.list("state-time-speed", 1, 3, [&] {
      on.within("MovementEvent", [&] {
        on.word("eventState", {"unavailable", "stop-And-Remain", "caution-Conflicting-Traffic"});
        if (on.dice.one_in(2)) draw_timing(on);
        if (on.dice.one_in(4)) draw_speeds(on);
        on.regional();
      });
    });
    draw_assists(on);
    on.regional();
  });
}

SignalState draw_state(Drawing& on) {
  SignalState at;
  on.within("IntersectionState", [&] {
    at.name = on.maybe_text("name", 63);
    at.id = draw_reference(on, "id");
    at.revision = on.integer("revision", 0, 127);
    on.bits("status", 16);
    at.minute = on.maybe("moy", 0, most_minute);
    at.millisecond = on.maybe("timeStamp", 0, 65'535);
    if (on.dice.one_in(3)) on.list("enabledLanes", 1, 16, [&] { on.number("LaneID", 0, 255); });
    on.list("states", 1, 8, [&] {
      draw_movement(on);
      ++at.states;
    });
    draw_assists(on);
    on.regional();
  });
  return at;
}

Circle draw_circle(Drawing& on) {
  Circle circle;
  on.within("circle", [&] {
    circle.centre = draw_position(on, "center");
    circle.radius = on.integer("radius", 0, 4095);
    circle.unit =
        on.word("units", {"centimeter", "cm2-5", "decimeter", "meter", "kilometer", "foot", "yard", "mile"});
  });
  return circle;
}

void draw_degree_nodes(Drawing& on, Region& region) {
  on.within("ll", [&] {
    on.list("nodes", 2, 6, [&] {
      on.within("NodeLL", [&] {
        const auto form = on.dice.number(0, 6);
        DegreeNode node;
        node.fix = form == 6;
        on.within("delta", [&] {
          on.within(node.fix ? "node-LatLon" : fmt::format("node-LL{}", form + 1), [&] {
            const std::int64_t reach = node.fix ? 0 : degree_reach[form];
            node.longitude = node.fix ? draw_longitude(on, "lon") : on.number("lon", -reach, reach - 1);
            node.latitude =
                node.fix ? on.number("lat", -900'000'000, 900'000'001) : on.number("lat", -reach, reach - 1);
          });
        });
        Node unused;
        if (on.dice.one_in(4)) draw_attributes(on, unused);
        region.degree_path.push_back(node);
      });
    });
  });
}

void draw_old_region(Drawing& on, Region& region) {
  region.old_form = true;
  on.within("oldRegion", [&] {
    const unsigned headings = on.bits("direction", 16);
    if (!region.headings) region.headings = headings;
    if (on.dice.one_in(2)) on.word("extent", {"useInstantlyOnly", "forever"});
    on.within("area", [&] {
      switch (on.dice.number(0, 2)) {
        case 0:
          return on.within("shapePointSet", [&] {
            if (on.dice.one_in(2)) region.anchor = draw_position(on, "anchor");
            const auto width = on.maybe("laneWidth", 0, 32'767);
            if (!region.lane_width) region.lane_width = width;
            if (on.dice.one_in(2)) on.word("directionality", {"forward", "both"});
            region.path = draw_node_list(on, "nodeList");
          });
        case 1:
          region.circle = draw_circle(on);
          return;
        default:
          return on.within("regionPointSet", [&] {
            if (on.dice.one_in(2)) region.anchor = draw_position(on, "anchor");
            region.scale = on.maybe("scale", 0, 15);
            on.list("nodeList", 1, 64, [&] {
              on.within("RegionOffsets", [&] {
                DegreeNode node;
                node.longitude = on.number("xOffset", -32'768, 32'767);
                node.latitude = on.number("yOffset", -32'768, 32'767);
                on.maybe("zOffset", -32'768, 32'767);
                region.degree_path.push_back(node);
              });
            });
          });
      }
    });
  });
}

void draw_geometry(Drawing& on, Region& region) {
  on.within("geometry", [&] {
    const unsigned headings = on.bits("direction", 16);
    if (!region.headings) region.headings = headings;
    if (on.dice.one_in(2)) on.word("extent", {"useFor3meters", "forever"});
    const auto width = on.maybe("laneWidth", 0, 32'767);
    if (!region.lane_width) region.lane_width = width;
    region.circle = draw_circle(on);
    on.regional();
  });
}

Region draw_region(Drawing& on) {
  Region region;
  on.within("GeographicalPath", [&] {
    region.name = on.maybe_text("name", 63);
    if (on.dice.one_in(3)) region.id = draw_reference(on, "id");
    if (on.dice.one_in(2)) region.anchor = draw_position(on, "anchor");
    region.lane_width = on.maybe("laneWidth", 0, 32'767);
    if (on.dice.one_in(2)) on.word("directionality", {"unavailable", "forward", "reverse", "both"});
    if (on.dice.one_in(2)) on.yes_or_no("closedPath");
    if (on.dice.one_in(2)) region.headings = on.bits("direction", 16);
    if (!on.dice.one_in(6)) {
      on.within("description", [&] {
        switch (on.dice.number(0, 2)) {
          case 0:
            return on.within("path", [&] {
              region.scale = on.maybe("scale", 0, 15);
              on.within("offset", [&] {
                if (on.dice.one_in(2)) {
                  region.path = draw_node_list(on, "xy");
                } else {
                  draw_degree_nodes(on, region);
                }
              });
            });
          case 1:
            return draw_geometry(on, region);
          default:
            return draw_old_region(on, region);
        }
      });
    }
    on.regional();
  });
  return region;
}

SignId draw_sign(Drawing& on) {
  SignId sign;
  on.within("roadSignID", [&] {
    sign.position = draw_position(on, "position");
    sign.headings = on.bits("viewAngle", 16);
    if (on.dice.one_in(2)) {
      sign.kind = on.word(
          "mutcdCode", {"none", "regulatory", "warning", "maintenance", "motoristService", "guide", "rec"});
    }
    if (on.dice.one_in(2)) on.octets("crc", 2, 2);
  });
  return sign;
}

void draw_content(Drawing& on, TravellerFrame& frame) {
  constexpr const char* kinds[] = {"advisory", "workZone", "genericSign", "speedLimit", "exitService"};
  const auto kind = static_cast<std::size_t>(on.dice.number(0, 4));
  frame.content = static_cast<ContentKind>(kind);
  const bool advisory = kind == 0;
  on.within("content", [&] {
    on.list(kinds[kind], 1, advisory && on.dice.one_in(4) ? 100 : 16, [&] {
      on.within(advisory ? "AdvisoryPart" : "SignPart", [&] {
        on.within("item", [&] {
          if (on.dice.one_in(2)) {
            frame.phrases.emplace_back(on.integer("itis", 0, 65'535));
          } else {
            const int most = !advisory ? 16 : on.dice.one_in(20) ? 500 : 20;
            frame.phrases.emplace_back(on.text("text", most));
          }
        });
      });
    });
  });
}

TravellerFrame draw_frame(Drawing& on) {
  TravellerFrame frame;
  on.within("TravelerDataFrame", [&] {
    on.number("sspTimRights", 0, 31);
    frame.kind = static_cast<FrameKind>(
        on.word("frameType", {"unknown", "advisory", "roadSignage", "commercialSignage"}));
    on.within("msgId", [&] {
      if (on.dice.one_in(2)) {
        frame.msg_id = on.octets("furtherInfoID", 2, 2);
      } else {
        frame.msg_id = draw_sign(on);
      }
    });
    frame.year = on.maybe("startYear", 0, 4095);
    frame.minute = on.integer("startTime", 0, most_minute);
    frame.duration = on.integer("duratonTime", 0, lasts_for_ever);
    frame.priority = on.integer("priority", 0, 7);
    on.number("sspLocationRights", 0, 31);
    on.list("regions", 1, 3, [&] { frame.regions.push_back(draw_region(on)); });
    on.number("sspMsgRights1", 0, 31);
    on.number("sspMsgRights2", 0, 31);
    draw_content(on, frame);
    frame.url = on.maybe_text("url", 15);
    on.addition();
  });
  return frame;
}

}  // namespace

Drawn<Map> draw_map(Dice& dice, const Habits& habits) {
  Drawing on(dice, habits);
  Map map;
  on.within("MapData", [&] {
    map.minute = on.maybe("timeStamp", 0, most_minute);
    map.revision = on.integer("msgIssueRevision", 0, 127);
    if (dice.one_in(3)) on.word("layerType", {"none", "intersectionData", "sharedLaneData"});
    on.maybe("layerID", 0, 100);
    if (!dice.one_in(6)) {
      const auto most = dice.one_in(20) ? 32 : 2;
      on.list("intersections", 1, most, [&] { map.intersections.push_back(draw_place(on, false)); });
    }
    if (dice.one_in(3)) {
      on.list("roadSegments", 1, 2, [&] { map.segments.push_back(draw_place(on, true)); });
    }
    if (dice.one_in(4)) {
      on.within("dataParameters", [&] {
        on.maybe_text("processMethod", 255);
        on.maybe_text("processAgency", 255);
        on.maybe_text("lastCheckedDate", 255);
        on.maybe_text("geoidUsed", 255);
      });
    }
    if (dice.one_in(4)) draw_restrictions(on);
    on.regional();
    on.addition();
    if (habits.additions && dice.one_in(6)) on.number("latest", 0, 1000);
  });
  return {on.xer, map};
}

Drawn<Spat> draw_spat(Dice& dice, const Habits& habits) {
  Drawing on(dice, habits);
  Spat spat;
  on.within("SPAT", [&] {
    spat.minute = on.maybe("timeStamp", 0, most_minute);
    spat.name = on.maybe_text("name", 63);
    on.list("intersections", 1, dice.one_in(10) ? 32 : 3,
            [&] { spat.intersections.push_back(draw_state(on)); });
    on.regional();
    on.addition();
  });
  return {on.xer, spat};
}

Drawn<Traveller> draw_traveller(Dice& dice, const Habits& habits) {
  Drawing on(dice, habits);
  Traveller message;
  on.within("TravelerInformation", [&] {
    message.count = on.integer("msgCnt", 0, 127);
    message.minute = on.maybe("timeStamp", 0, most_minute);
    if (dice.one_in(2)) message.packet = on.octets("packetID", 9, 9);
    message.url = on.maybe_text("urlB", 45);
    on.list("dataFrames", 1, dice.one_in(8) ? 8 : 2, [&] { message.frames.push_back(draw_frame(on)); });
    on.regional();
    on.addition();
  });
  return {on.xer, message};
}

}  // namespace vergeset::payloads
