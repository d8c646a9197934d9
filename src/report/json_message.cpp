#include "checks/lane_shape.h"
#include "report/message_text.h"
#include "report/message_words.h"

namespace vergeset::report {

namespace {

using j2735::Intersection;
using j2735::Lane;

Json optional_json(const std::optional<int>& number) {
  return number ? Json(*number) : Json();
}

Json position_json(const j2735::Position& position) {
  Json out{
      {"latitude_1e7", position.latitude}, {"longitude_1e7", position.longitude}, {"elevation_dm", nullptr}};
  if (position.elevation) out["elevation_dm"] = *position.elevation;
  return out;
}

Json reference_json(const j2735::Reference& id) {
  return {{"region", optional_json(id.region)}, {"id", id.id}};
}

Json nodes_json(const std::vector<j2735::Node>& nodes) {
  Json out = Json::array();
  for (const j2735::Node& node : nodes) {
    if (const auto* offset = std::get_if<j2735::Offset>(&node.at)) {
      out.push_back({{"east_cm", offset->east}, {"north_cm", offset->north}});
    } else if (const auto* fix = std::get_if<j2735::Fix>(&node.at)) {
      out.push_back({{"latitude_1e7", fix->latitude}, {"longitude_1e7", fix->longitude}});
    } else {
      out.push_back(nullptr);
    }
  }
  return out;
}

Json computed_json(const std::optional<j2735::Computed>& lane) {
  if (!lane) return nullptr;
  return {{"lane", lane->lane},
          {"east_cm", lane->east},
          {"north_cm", lane->north},
          {"turn_0_0125_deg", optional_json(lane->turn)},
          {"scale_east_0_05_percent", optional_json(lane->scale_east)},
          {"scale_north_0_05_percent", optional_json(lane->scale_north)}};
}

Json connection_json(const j2735::Connection& to) {
  Json out{{"lane", to.lane},
           {"maneuvers", nullptr},
           {"intersection", nullptr},
           {"signal_group", optional_json(to.signal_group)},
           {"connection", optional_json(to.id)}};
  if (to.maneuvers) out["maneuvers"] = *to.maneuvers;
  if (to.remote) out["intersection"] = reference_json(*to.remote);
  return out;
}

Json lane_json(const Intersection& at, const Lane& lane) {
  const j2735::LaneShape shape = j2735::shape_of(at, lane);
  Json connections = Json::array();
  for (const j2735::Connection& to : lane.connections) connections.push_back(connection_json(to));
  Json out{{"lane", lane.id},
           {"name", lane.name},
           {"kind", lane_kind_name(lane)},
           {"ingress", lane.ingress},
           {"egress", lane.egress},
           {"ingress_approach", optional_json(lane.ingress_approach)},
           {"egress_approach", optional_json(lane.egress_approach)},
           {"length_m", nullptr},
           {"nodes", nodes_json(lane.nodes)},
           {"computed", computed_json(lane.computed)},
           {"connections", std::move(connections)}};
  if (shape.why.empty()) out["length_m"] = shape.length;
  return out;
}

Json places_json(const std::vector<Intersection>& places) {
  Json out = Json::array();
  for (const Intersection& at : places) {
    Json lanes = Json::array();
    for (const Lane& lane : at.lanes) lanes.push_back(lane_json(at, lane));
    out.push_back({{"id", reference_json(at.id)},
                   {"name", at.name},
                   {"revision", at.revision},
                   {"reference_point", position_json(at.position)},
                   {"lane_width_cm", optional_json(at.lane_width)},
                   {"lanes", std::move(lanes)}});
  }
  return out;
}

Json region_json(const j2735::Region& region) {
  Json out{{"name", region.name}, {"anchor", nullptr}, {"lane_width_cm", optional_json(region.lane_width)},
           {"headings", nullptr}, {"circle", nullptr}, {"nodes", nodes_json(region.path.nodes)}};
  if (region.anchor) out["anchor"] = position_json(*region.anchor);
  if (region.headings) out["headings"] = headings_text(*region.headings);
  if (region.circle) {
    out["circle"] = {{"centre", position_json(region.circle->centre)},
                     {"radius", region.circle->radius},
                     {"unit", region.circle->unit}};
  }
  return out;
}

Json frame_json(const j2735::TravellerFrame& frame) {
  const j2735::Holds times = j2735::holds(frame);
  Json regions = Json::array();
  for (const j2735::Region& region : frame.regions) regions.push_back(region_json(region));
  Json says = Json::array();
  for (const j2735::Phrase& phrase : frame.phrases) {
    std::visit([&](const auto& each) { says.push_back(each); }, phrase);
  }
  Json out{{"kind", frame_kind_name(frame)},
           {"content", content_kind_name(frame)},
           {"year", optional_json(frame.year)},
           {"minute_of_year", frame.minute},
           {"minutes", frame.duration},
           {"from", nullptr},
           {"until", nullptr},
           {"for_ever", times.for_ever},
           {"priority", frame.priority},
           {"id", message_id_text(frame)},
           {"regions", std::move(regions)},
           {"says", std::move(says)},
           {"url", frame.url}};
  if (times.from) out["from"] = minute_text(*times.from);
  if (times.until) out["until"] = minute_text(*times.until);
  return out;
}

Json content_json(const j2735::Message& message) {
  if (const auto* map = message.map()) {
    return {{"revision", map->revision},
            {"minute_of_year", optional_json(map->minute)},
            {"intersections", places_json(map->intersections)},
            {"road_segments", places_json(map->segments)}};
  }
  if (const auto* spat = message.spat()) {
    Json states = Json::array();
    for (const j2735::SignalState& at : spat->intersections) {
      states.push_back({{"id", reference_json(at.id)},
                        {"name", at.name},
                        {"revision", at.revision},
                        {"minute_of_year", optional_json(at.minute)},
                        {"millisecond", optional_json(at.millisecond)},
                        {"states", at.states}});
    }
    return {{"name", spat->name},
            {"minute_of_year", optional_json(spat->minute)},
            {"intersections", std::move(states)}};
  }
  if (const auto* traveller = message.traveller()) {
    Json packets = Json::array();
    for (const j2735::TravellerFrame& frame : traveller->frames) packets.push_back(frame_json(frame));
    return {{"count", traveller->count},
            {"minute_of_year", optional_json(traveller->minute)},
            {"packet_id", traveller->packet ? Json(smi::to_hex(*traveller->packet)) : Json()},
            {"url", traveller->url},
            {"packets", std::move(packets)}};
  }
  return nullptr;
}

}  // namespace

Json message_json(const j2735::Message& message) {
  Json flaws = Json::array();
  for (const j2735::Flaw& flaw : message.flaws) {
    flaws.push_back({{"kind", flaw_word(flaw.kind)}, {"text", flaw.text}});
  }
  return {{"message_id", optional_json(message.id)},
          {"kind", message.id ? Json(j2735::message_kind_name(*message.id)) : Json()},
          {"octets", message.octets},
          {"envelope", message.envelope},
          {"flaws", std::move(flaws)},
          {"content", content_json(message)}};
}

}  // namespace vergeset::report
