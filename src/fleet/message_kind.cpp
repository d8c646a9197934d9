#include "fleet/message_kind.h"

#include <algorithm>

namespace vergeset::fleet {

namespace {

/// What the row says of its message: on this model a column, or nothing but a way to match.
struct Stated {
  const schema::CommonSetting* common = nullptr;
  std::int64_t id = 0;
  Place place;
};

/// The common column that some model takes from the payload, and the common name of that payload.
struct KindColumn {
  const schema::CommonSetting* kind = nullptr;
  const schema::CommonSetting* payload = nullptr;
};

KindColumn kind_column(const schema::CommonTable& table) {
  for (const auto& [name, column] : table.columns) {
    for (const auto& [model, mapping] : column.on) {
      if (!mapping.from_payload) continue;
      for (const auto& [other_name, other] : table.columns) {
        const auto on = other.on.find(model);
        const bool its_payload =
            on != other.on.end() && !on->second.from_payload && on->second.object == mapping.object;
        if (its_payload) return {&column, &other};
      }
    }
  }
  return {};
}

const DesiredValue* column_of(const DesiredRow& row, const schema::Object& object) {
  const auto found = std::find_if(row.columns.begin(), row.columns.end(),
                                  [&](const DesiredValue& value) { return value.object == &object; });
  return found == row.columns.end() ? nullptr : &*found;
}

std::optional<Stated> stated(const Reading& reading, const RowAsks& asks, const DesiredRow& row,
                             const schema::CommonSetting& kind, const schema::Mapping& mapping) {
  if (mapping.from_payload) {
    if (asks.message.empty()) return std::nullopt;
    const auto id = settle_message(reading, asks.message);
    if (!id) return std::nullopt;
    return Stated{&kind, *id, strongest(asks.message).front()->written->place};
  }
  const DesiredValue* const column = column_of(row, *mapping.object);
  if (column == nullptr) return std::nullopt;
  return Stated{&kind, column->value.number, column->asked.place};
}

/// A payload that was signed beforehand begins with version 3 of IEEE 1609.2 and the choice of
/// signed data (from memory); which message is inside does not show in its first octets.
bool signed_beforehand(const std::string& octets) {
  return octets[0] == '\x03' && octets[1] == '\x81';
}

}  // namespace

void check_message_kind(const Reading& reading, const TableAsks& table, const RowAsks& asks,
                        const DesiredRow& row) {
  for (const schema::CommonTable* common : table.commons) {
    const KindColumn columns = kind_column(*common);
    if (columns.kind == nullptr) continue;
    const auto* const kind = mapping_on(*columns.kind, *reading.unit.model);
    const auto* const payload = mapping_on(*columns.payload, *reading.unit.model);
    if (kind == nullptr || payload == nullptr) continue;
    const auto says = stated(reading, asks, row, *columns.kind, *kind);
    const DesiredValue* const value = column_of(row, *payload->object);
    if (!says || value == nullptr || value->value.octets.size() < 2) continue;
    const std::string& octets = value->value.octets;
    if (!kind->from_payload && signed_beforehand(octets)) continue;
    const std::int64_t id =
        static_cast<unsigned char>(octets[0]) * 256 + static_cast<unsigned char>(octets[1]);
    if (id == says->id) continue;
    reading.fault(says->place, "payload is a " + message_name(*says->common, id) + ", the row says " +
                                   message_name(*says->common, says->id));
  }
}

}  // namespace vergeset::fleet
