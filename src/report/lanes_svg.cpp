#include "report/lanes_svg.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "checks/lane_shape.h"
#include "report/markup.h"
#include "report/message_words.h"
#include "smi/inert.h"

namespace vergeset::report {

namespace {

using j2735::Intersection;
using j2735::Lane;
using j2735::LaneShape;
using j2735::PlanePoint;

constexpr double sheet_width = 1000;
constexpr double margin = 40;
constexpr double heading_room = 70;
constexpr double least_span = 20;  ///< m
constexpr double usual_lane = 3;   ///< m, where the message gives no width

std::string svg_text(const std::string& text) {
  return as_markup(smi::inert(text));
}

struct DrawnLane {
  const Lane* lane = nullptr;
  LaneShape shape;
};

using DrawnLanes = std::vector<DrawnLane>;

/// A part of the plane, metres from the reference point.
struct Window {
  double west = 0;
  double east = 0;
  double south = 0;
  double north = 0;

  void take_in(const PlanePoint& point) {
    west = std::min(west, point.east);
    east = std::max(east, point.east);
    south = std::min(south, point.north);
    north = std::max(north, point.north);
  }
  double span() const { return std::max({east - west, north - south, least_span}); }
};

/// The lanes of an intersection as far as they are in a window, in units of the drawing, north up.
class View {
 public:
  /// `near`: numbers and arrows stand where lanes begin, at the intersection; otherwise where they end.
  View(const Intersection& at, const DrawnLanes& lanes, const Window& window, bool near)
      : at_(at),
        lanes_(lanes),
        window_(window),
        near_(near),
        scale_((sheet_width - 2 * margin) / window.span()),
        left_((sheet_width - (window.east - window.west) * scale_) / 2) {}

  /// At so many units from the top of the sheet.
  std::string svg(double top) const;
  double height() const { return 2 * margin + std::max((window_.north - window_.south) * scale_, 100.0); }

 private:
  PlanePoint on_sheet(const PlanePoint& point) const {
    return {left_ + (point.east - window_.west) * scale_, margin + (window_.north - point.north) * scale_};
  }
  double lane_width() const {
    const double metres = at_.lane_width ? *at_.lane_width / 100.0 : usual_lane;
    return std::clamp(metres * scale_ * 0.86, 2.0, 60.0);
  }
  std::string lane_line(const DrawnLane& drawn) const;
  std::string lane_marks(const DrawnLane& drawn) const;
  std::string lane_number(const DrawnLane& drawn, std::size_t place) const;
  std::string connections(const DrawnLane& drawn) const;
  std::string arrow(PlanePoint from, PlanePoint to, const char* kind) const;
  std::string furniture() const;

  const Intersection& at_;
  const DrawnLanes& lanes_;
  Window window_;
  bool near_ = false;
  double scale_ = 1;
  double left_ = margin;
};

const char* lane_class(const Lane& lane) {
  if (lane.kind != j2735::LaneKind::vehicle) return "other";
  return lane.ingress && !lane.egress ? "in" : lane.egress && !lane.ingress ? "out" : "both";
}

std::string lane_title(const Lane& lane) {
  std::string text = fmt::format("lane {}", lane.id);
  if (!lane.name.empty()) text += " \"" + lane.name + "\"";
  text += ", " + lane_kind_name(lane);
  if (lane.ingress) text += ", towards the intersection";
  if (lane.egress) text += ", away from the intersection";
  for (const j2735::Connection& to : lane.connections) {
    text += fmt::format("; leads to lane {}", to.lane);
    if (to.signal_group) text += fmt::format(" by signal {}", *to.signal_group);
  }
  return text;
}

std::string View::lane_line(const DrawnLane& drawn) const {
  std::string points;
  for (const PlanePoint& point : drawn.shape.points) {
    const PlanePoint here = on_sheet(point);
    points += fmt::format("{}{:.1f},{:.1f}", points.empty() ? "" : " ", here.east, here.north);
  }
  return fmt::format(
      "<polyline class=\"lane {}\" stroke-width=\"{:.1f}\" points=\"{}\"><title>{}</title></polyline>\n",
      lane_class(*drawn.lane), lane_width(), points, svg_text(lane_title(*drawn.lane)));
}

/// A head that points from one point of the sheet to another, at the second.
std::string View::arrow(PlanePoint from, PlanePoint to, const char* kind) const {
  const double length = std::hypot(to.east - from.east, to.north - from.north);
  if (length < 1e-6) return "";
  const double size = std::clamp(lane_width() * 0.45, 3.0, 14.0);
  const double east = (to.east - from.east) / length * size;
  const double north = (to.north - from.north) / length * size;
  return fmt::format("<path class=\"arrow {}\" d=\"M{:.1f},{:.1f} L{:.1f},{:.1f} L{:.1f},{:.1f}\"/>\n", kind,
                     to.east - east - north * 0.7, to.north - north + east * 0.7, to.east, to.north,
                     to.east - east + north * 0.7, to.north - north - east * 0.7);
}

/// `share` of the way from one point to another.
PlanePoint between(const PlanePoint& from, const PlanePoint& to, double share) {
  return {from.east + (to.east - from.east) * share, from.north + (to.north - from.north) * share};
}

/// So many units of the sheet from the first point towards the second, or that share of the way where it is
/// less.
PlanePoint some_way(const PlanePoint& from, const PlanePoint& to, double units, double most = 0.5) {
  const double length = std::hypot(to.east - from.east, to.north - from.north);
  return length <= 0 ? from : between(from, to, std::min(most, units / length));
}

/// The stop line where vehicles come in, and arrows along the lane. Nodes count from the intersection
/// outward.
std::string View::lane_marks(const DrawnLane& drawn) const {
  const auto& points = drawn.shape.points;
  if (points.size() < 2) return "";
  const PlanePoint first = on_sheet(points[0]);
  const PlanePoint second = on_sheet(points[1]);
  const double length = std::hypot(second.east - first.east, second.north - first.north);
  std::string out;
  if (drawn.lane->ingress && length > 0) {
    const double half = lane_width() / 2;
    const double east = (second.east - first.east) / length * half;
    const double north = (second.north - first.north) / length * half;
    out += fmt::format("<path class=\"stop\" d=\"M{:.1f},{:.1f} L{:.1f},{:.1f}\"/>\n", first.east - north,
                       first.north + east, first.east + north, first.north - east);
    out += arrow(second, some_way(first, second, lane_width() * 0.6 + 4), lane_class(*drawn.lane));
  }
  if (drawn.lane->egress) {
    const PlanePoint last = on_sheet(points.back());
    const PlanePoint before = on_sheet(points[points.size() - 2]);
    out += near_ ? arrow(first, some_way(first, second, lane_width() + 10), lane_class(*drawn.lane))
                 : arrow(before, some_way(last, before, 4), lane_class(*drawn.lane));
  }
  return out;
}

/// Numbers of lanes side by side stand in steps, so that none covers another.
std::string View::lane_number(const DrawnLane& drawn, std::size_t place) const {
  const auto& points = drawn.shape.points;
  if (points.size() < 2) return "";
  const PlanePoint from = on_sheet(near_ ? points.front() : points.back());
  const PlanePoint towards = on_sheet(near_ ? points[1] : points[points.size() - 2]);
  const double step = 24 * static_cast<double>(place % 4);
  const PlanePoint middle = some_way(from, towards, (near_ ? lane_width() + 40 : 26) + step, 0.95);
  return fmt::format(
      "<circle class=\"plate\" cx=\"{0:.1f}\" cy=\"{1:.1f}\" r=\"10\"/>"
      "<text class=\"number\" x=\"{0:.1f}\" y=\"{2:.1f}\">{3}</text>\n",
      middle.east, middle.north, middle.north + 4, drawn.lane->id);
}

/// From the stop line to where the lane that it leads to begins, bending as vehicles do.
std::string View::connections(const DrawnLane& drawn) const {
  std::string out;
  if (drawn.shape.points.size() < 2) return out;
  for (const j2735::Connection& to : drawn.lane->connections) {
    if (to.remote) continue;
    const auto target = std::find_if(lanes_.begin(), lanes_.end(), [&](const DrawnLane& other) {
      return other.lane->id == to.lane && other.shape.points.size() >= 2;
    });
    if (target == lanes_.end()) continue;
    const PlanePoint from = on_sheet(drawn.shape.points[0]);
    const PlanePoint till = on_sheet(target->shape.points[0]);
    const double reach = std::hypot(till.east - from.east, till.north - from.north) * 0.45;
    const PlanePoint back = some_way(from, on_sheet(drawn.shape.points[1]), reach);
    const PlanePoint ahead = some_way(till, on_sheet(target->shape.points[1]), reach);
    const PlanePoint out_of{2 * from.east - back.east, 2 * from.north - back.north};
    const PlanePoint into{2 * till.east - ahead.east, 2 * till.north - ahead.north};
    out += fmt::format(
        "<path class=\"way\" d=\"M{:.1f},{:.1f} C{:.1f},{:.1f} {:.1f},{:.1f} {:.1f},{:.1f}\"/>\n", from.east,
        from.north, out_of.east, out_of.north, into.east, into.north, till.east, till.north);
  }
  return out;
}

/// The reference point, and a scale of a round length that takes a tenth to a third of the sheet.
std::string View::furniture() const {
  const PlanePoint reference = on_sheet({0, 0});
  double metres = std::pow(10, std::floor(std::log10(sheet_width * 0.3 / scale_)));
  while (metres * scale_ * 2 < sheet_width * 0.2) metres *= 2;
  const double x = sheet_width - margin - metres * scale_;
  return fmt::format(
      "<path class=\"reference\" d=\"M{:.1f},{:.1f} h12 m-6,-6 v12\"><title>reference point</title></path>\n"
      "<path class=\"scale\" d=\"M{:.1f},30 v-8 h{:.1f} v8\"/>"
      "<text class=\"small end\" x=\"{:.1f}\" y=\"16\">{:g} m</text>\n",
      reference.east - 6, reference.north, x, metres * scale_, sheet_width - margin, metres);
}

/// Cut off at the view's own edges, so that a lane that runs on does not cross the next.
std::string View::svg(double top) const {
  std::string out =
      fmt::format("<svg y=\"{:.1f}\" width=\"{:.0f}\" height=\"{:.1f}\">\n", top, sheet_width, height());
  for (const DrawnLane& drawn : lanes_) out += lane_line(drawn);
  for (const DrawnLane& drawn : lanes_) out += connections(drawn);
  for (const DrawnLane& drawn : lanes_) out += lane_marks(drawn);
  for (std::size_t i = 0; i < lanes_.size(); ++i) out += lane_number(lanes_[i], i);
  return out + furniture() + "</svg>\n";
}

/// Where the lanes begin, with a little of each; nothing where the whole shows it as well.
std::optional<Window> middle_of(const DrawnLanes& lanes, const Window& whole) {
  constexpr double around = 15;
  Window middle;
  for (const DrawnLane& drawn : lanes) middle.take_in(drawn.shape.points.front());
  middle = {middle.west - around, middle.east + around, middle.south - around, middle.north + around};
  return middle.span() * 2 < whole.span() ? std::optional(middle) : std::nullopt;
}

struct Sheet {
  std::string svg;
  double height = 0;
};

Sheet sheet_of(const Intersection& at, const std::string& what) {
  std::string name = what + " " + std::to_string(at.id.id);
  if (at.id.region) name += fmt::format(" of region {}", *at.id.region);
  Sheet sheet;
  sheet.svg = fmt::format(
      "<text class=\"title\" x=\"{0:.0f}\" y=\"36\">{1}</text>\n<text class=\"small\" x=\"{0:.0f}\" "
      "y=\"58\">{2}</text>\n",
      margin, svg_text(at.name.empty() ? name : at.name),
      svg_text(fmt::format("{}, revision {}; reference point {}; north is up", name, at.revision,
                           place_on_earth(at.position))));
  sheet.height = heading_room;
  DrawnLanes lanes;
  Window whole;
  for (const Lane& lane : at.lanes) {
    LaneShape shape = j2735::shape_of(at, lane);
    if (shape.points.empty()) {
      sheet.height += 20;
      sheet.svg +=
          fmt::format("<text class=\"small\" x=\"{:.0f}\" y=\"{:.1f}\">{}</text>\n", margin, sheet.height,
                      svg_text(fmt::format("lane {} is not drawn: {}", lane.id, shape.why)));
      continue;
    }
    for (const PlanePoint& point : shape.points) whole.take_in(point);
    lanes.push_back({&lane, std::move(shape)});
  }
  const auto add = [&](const View& view) {
    sheet.svg += view.svg(sheet.height);
    sheet.height += view.height();
  };
  if (lanes.empty()) return sheet;
  const auto middle = middle_of(lanes, whole);
  if (middle) add(View(at, lanes, *middle, true));
  add(View(at, lanes, whole, !middle));
  sheet.height += margin;
  return sheet;
}

constexpr const char* look = R"(<style>
svg { background: #f6f4ee; font-family: sans-serif; }
.lane { fill: none; stroke-linejoin: round; stroke-linecap: butt; }
.lane.in { stroke: #4d5660; } .lane.out { stroke: #b9c0c4; } .lane.both { stroke: #838b91; }
.lane.other { stroke: #c9a86a; stroke-dasharray: 6 4; }
.way { fill: none; stroke: #1f6f78; stroke-width: 1.6; stroke-dasharray: 5 3; }
.stop { stroke: #ffffff; stroke-width: 3.5; }
.arrow { fill: none; stroke: #ffffff; stroke-width: 2; stroke-linecap: round; stroke-linejoin: round; }
.arrow.out, .arrow.other { stroke: #22272b; }
.plate { fill: #f6f4ee; stroke: #22272b; stroke-width: 1.2; }
.number { font-size: 11px; text-anchor: middle; fill: #22272b; }
.title { font-size: 20px; font-weight: bold; fill: #22272b; }
.small { font-size: 13px; fill: #22272b; } .end { text-anchor: end; }
.scale, .reference { fill: none; stroke: #22272b; stroke-width: 1.6; }
</style>
)";

}  // namespace

std::string lanes_svg(const j2735::Map& map) {
  std::string sheets;
  double height = 0;
  const auto add = [&](const Intersection& at, const char* what) {
    const Sheet sheet = sheet_of(at, what);
    sheets += fmt::format("<g transform=\"translate(0 {:.1f})\">\n{}</g>\n", height, sheet.svg);
    height += sheet.height;
  };
  for (const Intersection& at : map.intersections) add(at, "intersection");
  for (const Intersection& at : map.segments) add(at, "road segment");
  if (sheets.empty()) {
    sheets = "<text class=\"small\" x=\"40\" y=\"50\">This MAP names no intersection.</text>\n";
    height = 100;
  }
  return fmt::format(
             "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" "
             "height=\"{1:.0f}\" role=\"img\">\n<title>Lanes of a MAP</title>\n",
             sheet_width, height) +
         look + sheets + "</svg>\n";
}

}  // namespace vergeset::report
