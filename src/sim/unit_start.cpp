#include "sim/unit_start.h"

#include <charconv>
#include <map>

#include "fleet/standby_quirks.h"
#include "sim/octets.h"

namespace vergeset::sim {

namespace {

std::optional<Spot> site_of(const fleet::Site& site) {
  if (!site.latitude || !site.longitude) return std::nullopt;
  Spot spot{*site.latitude, *site.longitude, 0};
  if (const auto found = site.fields.find("elevation"); found != site.fields.end())
    std::from_chars(found->second.data(), found->second.data() + found->second.size(), spot.elevation);
  return spot;
}

using CellKey = std::pair<const schema::Object*, std::uint32_t>;

/// What can be SET leaves every factory the same (only serial numbers differ): one store a model will do.
const std::map<CellKey, smi::Value>& factory_cells(const schema::Model& model) {
  static std::map<const schema::Model*, std::map<CellKey, smi::Value>> known;
  const auto [at, fresh] = known.try_emplace(&model);
  if (fresh) {
    const Store store({&model, "", std::nullopt, 0}, nullptr, 0);
    for (Store::Cell& cell : store.settable_cells())
      at->second.emplace(CellKey{cell.object, cell.index}, std::move(cell.value));
  }
  return at->second;
}

std::vector<UnitStart::Cell> desired_cells(const fleet::Unit& unit) {
  const auto& factory = factory_cells(*unit.model);
  Store store({unit.model, unit.name, std::nullopt, 0}, nullptr, 0);
  store.apply(unit.desired, 0);
  std::vector<UnitStart::Cell> cells;
  for (Store::Cell& cell : store.settable_cells()) {
    const auto same = factory.find({cell.object, cell.index});
    if (same == factory.end() || same->second != cell.value)
      cells.push_back({cell.object->name, cell.index, std::move(cell.value)});
  }
  return cells;
}

void put_value(OctetWriter& writer, const smi::Value& value) {
  writer.put(value.type);
  writer.put(value.number);
  writer.put_text(value.octets);
  writer.put(value.oid->size());
  for (const std::uint32_t arc : value.oid->arcs()) writer.put(arc);
}

smi::Value take_value(OctetReader& reader) {
  smi::Value value;
  value.type = reader.take<smi::Type>();
  value.number = reader.take<std::int64_t>();
  value.octets = reader.take_text();
  std::vector<std::uint32_t> arcs;
  for (auto left = reader.take<std::size_t>(); left > 0; --left) arcs.push_back(reader.take<std::uint32_t>());
  value.oid = smi::Oid(arcs);
  return value;
}

void put_twin(OctetWriter& writer, const UnitStart& start) {
  writer.put(start.as_found);
  writer.put(start.mode.has_value());
  writer.put(start.mode.value_or(0));
  writer.put(start.refuse_after.value_or(-1));
  writer.put(start.absent.size());
  for (const std::string& name : start.absent) writer.put_text(name);
}

void take_twin(OctetReader& reader, UnitStart& start) {
  start.as_found = reader.take<bool>();
  const bool known = reader.take<bool>();
  const auto mode = reader.take<std::int64_t>();
  if (known) start.mode = mode;
  if (const auto pass = reader.take<int>(); pass >= 0) start.refuse_after = pass;
  for (auto left = reader.take<std::size_t>(); left > 0; --left) start.absent.push_back(reader.take_text());
}

}  // namespace

fleet::Desired UnitStart::quirks(const schema::Model& kind) const {
  fleet::Desired desired;
  for (const auto& [of, needs] : standby_quirks) {
    const schema::Object* object = kind.object(of);
    schema::Traits traits = object != nullptr ? object->traits : schema::Traits{};
    traits.needs_standby = needs;
    desired.traits[of] = traits;
  }
  return desired;
}

Result<Store> UnitStart::store(const schema::Model& kind, int transition_ms, std::int64_t now) const {
  const fleet::Desired traits = quirks(kind);
  if (as_found) return twin(kind, traits, transition_ms, now);
  Store made({&kind, name, site, transition_ms}, &traits, now);
  for (const Cell& cell : cells)
    if (const auto put = made.restore(*kind.object(cell.object), cell.index, cell.value); !put)
      return Problem{put.problem()};
  if (!cells.empty()) made.settle_mode(now);
  return made;
}

Result<Store> UnitStart::twin(const schema::Model& kind, const fleet::Desired& traits, int transition_ms,
                              std::int64_t now) const {
  Nature nature{&kind, name, std::nullopt, transition_ms};
  nature.absent.insert(absent.begin(), absent.end());
  Store made(std::move(nature), &traits, now);
  std::vector<Store::Cell> found;
  for (const Cell& cell : cells) {
    const schema::Object* object = kind.object(cell.object);
    if (object == nullptr) return Problem{"model " + kind.name + " has no object '" + cell.object + "'"};
    found.push_back({object, cell.index, cell.value});
  }
  const auto became = made.become(found, mode, now);
  if (!became) return Problem{became.problem()};
  return made;
}

UnitStart start_of(const fleet::Unit& unit, bool desired) {
  UnitStart start;
  start.name = unit.name;
  start.host = unit.host;
  start.port = unit.port;
  start.model = unit.model->name;
  start.credential = unit.credential;
  start.engine_id = unit.engine_id;
  start.site = site_of(unit.site);
  start.standby_quirks = fleet::standby_quirks_of(unit);
  if (desired) start.cells = desired_cells(unit);
  return start;
}

std::string pack(const UnitStart& start) {
  OctetWriter writer;
  for (const std::string* text :
       {&start.name, &start.host, &start.model, &start.credential, &start.engine_id})
    writer.put_text(*text);
  writer.put(start.port);
  writer.put(start.site.has_value());
  writer.put(start.site.value_or(Spot{}));
  writer.put(start.standby_quirks.size());
  for (const auto& [name, needs] : start.standby_quirks) {
    writer.put_text(name);
    writer.put(needs);
  }
  writer.put(start.cells.size());
  for (const UnitStart::Cell& cell : start.cells) {
    writer.put_text(cell.object);
    writer.put(cell.index);
    put_value(writer, cell.value);
  }
  put_twin(writer, start);
  return std::move(writer.octets);
}

UnitStart unpack(std::string_view octets) {
  OctetReader reader(octets);
  UnitStart start;
  for (std::string* text : {&start.name, &start.host, &start.model, &start.credential, &start.engine_id})
    *text = reader.take_text();
  start.port = reader.take<std::uint16_t>();
  const bool placed = reader.take<bool>();
  const Spot spot = reader.take<Spot>();
  if (placed) start.site = spot;
  for (auto left = reader.take<std::size_t>(); left > 0; --left) {
    std::string name = reader.take_text();
    start.standby_quirks.emplace_back(std::move(name), reader.take<bool>());
  }
  for (auto left = reader.take<std::size_t>(); left > 0; --left) {
    UnitStart::Cell cell;
    cell.object = reader.take_text();
    cell.index = reader.take<std::uint32_t>();
    cell.value = take_value(reader);
    start.cells.push_back(std::move(cell));
  }
  take_twin(reader, start);
  return start;
}

}  // namespace vergeset::sim
