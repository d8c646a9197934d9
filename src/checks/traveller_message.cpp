#include "checks/traveller_message.h"

#include <fmt/format.h>

namespace vergeset::j2735 {

namespace {

unsigned read_headings(Uper& in) {
  return static_cast<unsigned>(in.raw("headings", 16));
}

Circle read_circle(Uper& in) {
  Circle circle;
  circle.centre = read_position(in);
  circle.radius = static_cast<int>(in.number("radius", 0, 4095));
  circle.unit = in.enumerated("unit of a radius", 8, false).value_or(0);
  return circle;
}

void read_path(Uper& in, Region& region) {
  const Preamble form = in.sequence("path", 1, false);
  region.scale = read_optional(in, form.has(0), "scale", 15);
  if (in.choice("offsets of a path", 2, false) == 0U) {
    region.path = read_node_list(in);
  } else {
    region.degree_path = read_degree_nodes(in);
  }
}

void read_geometry(Uper& in, Region& region) {
  const Preamble form = in.sequence("geometry", 3, true);
  const unsigned headings = read_headings(in);
  if (!region.headings) region.headings = headings;
  if (form.has(0)) in.enumerated("extent", 16, false);
  const auto width = read_optional(in, form.has(1), "lane width", 32'767);
  if (!region.lane_width) region.lane_width = width;
  region.circle = read_circle(in);
  if (form.has(2)) skip_regional(in);
  in.end_sequence(form);
}

void read_shape_points(Uper& in, Region& region) {
  const Preamble form = in.sequence("shape points", 3, true);
  if (form.has(0)) region.anchor = read_position(in);
  const auto width = read_optional(in, form.has(1), "lane width", 32'767);
  if (!region.lane_width) region.lane_width = width;
  if (form.has(2)) in.enumerated("direction of use", 4, false);
  region.path = read_node_list(in);
  in.end_sequence(form);
}

void read_region_points(Uper& in, Region& region) {
  const Preamble form = in.sequence("region points", 2, true);
  if (form.has(0)) region.anchor = read_position(in);
  region.scale = read_optional(in, form.has(1), "scale", 15);
  const std::size_t count = in.items("number of points", 1, 64);
  for (std::size_t i = 0; i < count && in.ok(); ++i) {
    const Preamble point = in.sequence("point", 1, false);
    DegreeNode node;
    node.longitude = in.number("offset of longitude", -32'768, 32'767);
    node.latitude = in.number("offset of latitude", -32'768, 32'767);
    if (point.has(0)) in.number("offset of elevation", -32'768, 32'767);
    if (in.ok()) region.degree_path.push_back(node);
  }
  in.end_sequence(form);
}

/// ValidRegion.
void read_old_region(Uper& in, Region& region) {
  region.old_form = true;
  const Preamble form = in.sequence("region", 1, false);
  const unsigned headings = read_headings(in);
  if (!region.headings) region.headings = headings;
  if (form.has(0)) in.enumerated("extent", 16, false);
  switch (in.choice("area", 3, false).value_or(0)) {
    case 0:
      return read_shape_points(in, region);
    case 1:
      region.circle = read_circle(in);
      return;
    default:
      return read_region_points(in, region);
  }
}

Region read_region(Uper& in) {
  Region region;
  const Preamble form = in.sequence("region", 9, true);
  if (form.has(0)) region.name = in.ia5("name of a region", 1, 63);
  if (form.has(1)) region.id = read_reference(in);
  if (form.has(2)) region.anchor = read_position(in);
  region.lane_width = read_optional(in, form.has(3), "lane width", 32'767);
  if (form.has(4)) in.enumerated("direction of use", 4, false);
  if (form.has(5)) in.flag("closed path");
  if (form.has(6)) region.headings = read_headings(in);
  if (form.has(7)) {
    const auto kind = in.choice("description of a region", 3, true);
    if (kind == 0U) read_path(in, region);
    if (kind == 1U) read_geometry(in, region);
    if (kind == 2U) read_old_region(in, region);
  }
  if (form.has(8)) skip_regional(in);
  in.end_sequence(form);
  return region;
}

SignId read_sign_id(Uper& in) {
  SignId sign;
  const Preamble form = in.sequence("road sign", 2, true);
  sign.position = read_position(in);
  sign.headings = read_headings(in);
  if (form.has(0)) sign.kind = in.enumerated("kind of road sign", 7, true);
  if (form.has(1)) in.octets("checksum of a road sign", 2);
  in.end_sequence(form);
  return sign;
}

void read_content(Uper& in, TravellerFrame& frame) {
  frame.content = static_cast<ContentKind>(in.choice("content", 5, false).value_or(0));
  const bool advisory = frame.content == ContentKind::advisory;
  const std::size_t count = in.items("number of phrases", 1, advisory ? 100 : 16);
  for (std::size_t i = 0; i < count && in.ok(); ++i) {
    Phrase phrase;
    if (in.choice("phrase", 2, false) == 0U) {
      phrase = static_cast<int>(in.number("ITIS code", 0, 65'535));
    } else {
      phrase = in.ia5("words of a phrase", 1, advisory ? 500 : 16);
    }
    if (in.ok()) frame.phrases.push_back(std::move(phrase));
  }
}

TravellerFrame read_frame(Uper& in) {
  TravellerFrame frame;
  const Preamble form = in.sequence("data frame", 2, true);
  in.raw("permissions", 5);
  if (const auto kind = in.enumerated("kind of data frame", 4, true)) {
    frame.kind = static_cast<FrameKind>(*kind);
  }
  if (in.choice("message id", 2, false) == 0U) {
    frame.msg_id = in.octets("further information", 2);
  } else {
    frame.msg_id = read_sign_id(in);
  }
  frame.year = read_optional(in, form.has(0), "start year", 4095);
  frame.minute = static_cast<int>(in.number("start time", 0, most_minute));
  frame.duration = static_cast<int>(in.number("duration", 0, lasts_for_ever));
  frame.priority = static_cast<int>(in.number("priority", 0, 7));
  in.raw("permissions", 5);
  const std::size_t regions = in.items("number of regions", 1, 16);
  for (std::size_t i = 0; i < regions && in.ok(); ++i) {
    Region region = read_region(in);
    in.within(fmt::format("region {} of {}", i + 1, regions));
    if (in.ok()) frame.regions.push_back(std::move(region));
  }
  in.raw("permissions", 10);
  read_content(in, frame);
  if (form.has(1)) frame.url = in.ia5("url", 1, 15);
  in.end_sequence(form);
  return frame;
}

}  // namespace

Traveller read_traveller(Uper& in) {
  Traveller message;
  const Preamble form = in.sequence("traveller information", 4, true);
  message.count = static_cast<int>(in.number("message count", 0, 127));
  message.minute = read_optional(in, form.has(0), "time stamp", most_minute);
  if (form.has(1)) message.packet = in.octets("packet id", 9);
  if (form.has(2)) message.url = in.ia5("url", 1, 45);
  const std::size_t frames = in.items("number of data frames", 1, 8);
  for (std::size_t i = 0; i < frames && in.ok(); ++i) {
    TravellerFrame frame = read_frame(in);
    in.within(fmt::format("data frame {} of {}", i + 1, frames));
    if (in.ok()) message.frames.push_back(std::move(frame));
  }
  if (form.has(3)) skip_regional(in);
  in.end_sequence(form);
  return message;
}

}  // namespace vergeset::j2735
