#include "report/json.h"
#include "smi/numbers.h"
#include "snmp/engine_id.h"

namespace vergeset::report {

namespace {

const char* way_name(snmp::Way::Kind kind) {
  switch (kind) {
    case snmp::Way::Kind::attached:
      return "attached";
    case snmp::Way::Kind::by_router:
      return "by router";
    case snmp::Way::Kind::here:
      return "this machine";
    case snmp::Way::Kind::none:
      return "none";
    case snmp::Way::Kind::not_told:
      break;
  }
  return "not told";
}

Json way_json(const snmp::Way& way) {
  return {{"address", way.address}, {"kind", way_name(way.kind)}, {"interface", way.interface},
          {"subnet", way.subnet},   {"router", way.router},       {"from", way.from}};
}

Json engine_json(const snmp::Engine& engine) {
  if (engine.id.empty()) return nullptr;
  Json out{
      {"id", smi::to_hex(engine.id)}, {"boots", engine.boots}, {"up_s", engine.time}, {"vendor", nullptr}};
  if (const auto id = snmp::read_engine_id(engine.id)) out["vendor"] = id->enterprise;
  return out;
}

Json rungs_json(const std::vector<change::Hold>& holds) {
  Json out = Json::array();
  for (const change::Hold& hold : holds) {
    out.push_back({{"rung", change::rung_name(hold.rung)},
                   {"state", change::state_name(hold.state)},
                   {"what", hold.what},
                   {"next", hold.next}});
  }
  return out;
}

}  // namespace

Json reach_json(const std::vector<change::Climbed>& units) {
  Json out = Json::array();
  for (const change::Climbed& unit : units) {
    const bool echoed = unit.echo && unit.echo->kind == snmp::Echo::Kind::answered;
    Json one{{"unit", unit.unit->name},
             {"host", unit.unit->host},
             {"port", unit.unit->port},
             {"at_top", unit.at_top()},
             {"ends_at", nullptr},
             {"way", way_json(unit.way)},
             {"ping_ms", nullptr},
             {"engine", engine_json(unit.engine)},
             {"rungs", rungs_json(unit.holds)}};
    if (!unit.at_top()) one["ends_at"] = change::rung_name(unit.holds.back().rung);
    if (echoed) one["ping_ms"] = static_cast<double>(unit.echo->round_trip.count()) / 1000;
    out.push_back(std::move(one));
  }
  return out;
}

}  // namespace vergeset::report
