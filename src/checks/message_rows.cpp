#include "checks/message_rows.h"

#include "smi/codecs.h"
#include "smi/moment.h"
#include "smi/octet.h"

namespace vergeset::checks {

namespace {

std::optional<std::int64_t> number_in(const fleet::DesiredRow& row, std::string_view column) {
  const fleet::DesiredValue* const value = column_named(row, column);
  if (value == nullptr || value->value.type != smi::Type::integer) return std::nullopt;
  return value->value.number;
}

std::optional<int> small_number_in(const fleet::DesiredRow& row, std::string_view column) {
  const auto number = number_in(row, column);
  return number ? std::optional(static_cast<int>(*number)) : std::nullopt;
}

std::optional<std::int64_t> moment_in(const fleet::DesiredRow& row, std::string_view column) {
  const fleet::DesiredValue* const value = column_named(row, column);
  if (value == nullptr || smi::no_time(value->value.octets)) return std::nullopt;
  const auto moment = smi::moment_from_octets(value->value.octets);
  return moment ? std::optional(smi::deciseconds(*moment)) : std::nullopt;
}

/// NTCIP 1218's options, the first bit highest (from memory): the first says that the unit handles the
/// message by IEEE 1609.2, the second that it does so unsecured. RSU 4.1 has none, and its units sign (from
/// memory).
bool unit_signs(const fleet::DesiredRow& row) {
  const fleet::DesiredValue* const options = column_named(row, "options");
  if (options == nullptr || options->value.octets.empty()) return true;
  const std::uint32_t bits = smi::octet_at(options->value.octets, 0);
  return (bits & 0x80U) != 0 && (bits & 0x40U) == 0;
}

/// The message's own channel, or the one that its radio is on by turns.
bool sent_by_turns(const fleet::DesiredRow& row) {
  const fleet::DesiredValue* const mode = column_named(row, "tx-mode");
  return mode != nullptr && mode->value.number == 1;  // alt(1), RSU 4.1 rsuSRMTxMode
}

MessageRow read_message_row(const fleet::DesiredTable& table, const fleet::DesiredRow& row, bool repeated) {
  MessageRow out;
  out.row = &row;
  out.name = table.name + " " + row.label;
  out.repeated = repeated;
  out.enabled = number_in(row, "enabled").value_or(1) == 1;
  if (const auto* psid = column_named(row, "psid")) out.psid = psid_number(psid->value.octets);
  out.message = small_number_in(row, "message");
  if (!out.message && row.match_payload) out.message = static_cast<int>(row.match_payload->message_id);
  out.channel = small_number_in(row, "channel");
  out.interval_ms = number_in(row, "interval");
  out.start = moment_in(row, "start");
  out.stop = moment_in(row, "stop");
  out.by_turns = sent_by_turns(row);
  out.secured = unit_signs(row);
  out.payload = column_named(row, "payload");
  return out;
}

}  // namespace

Place MessageRow::place() const {
  return payload != nullptr ? payload->asked.place : row->asked.place;
}

Place MessageRow::place_of(const char* column) const {
  const fleet::DesiredValue* const value = column_named(*row, column);
  return value != nullptr ? value->asked.place : row->asked.place;
}

std::vector<MessageRow> message_rows(const fleet::Unit& unit) {
  std::vector<MessageRow> rows;
  for (const fleet::DesiredTable& table : unit.desired.tables) {
    if (table.table == nullptr) continue;
    const bool repeated = table.table->common == "store-and-repeat";
    if (!repeated && table.table->common != "immediate-forward") continue;
    for (const fleet::DesiredRow& row : table.rows) {
      if (row.present) rows.push_back(read_message_row(table, row, repeated));
    }
  }
  return rows;
}

const fleet::DesiredValue* column_named(const fleet::DesiredRow& row, std::string_view common) {
  for (const fleet::DesiredValue& value : row.columns) {
    if (value.object != nullptr && value.object->common == common) return &value;
  }
  return nullptr;
}

std::optional<std::uint32_t> psid_number(std::string_view octets) {
  // IEEE 1609.3: the high bits of the first octet say how many octets there are, and each length begins
  // counting where the one before it ends.
  constexpr std::uint32_t first[] = {0, 0x80, 0x4080, 0x204080};
  if (octets.empty() || octets.size() > 4) return std::nullopt;
  std::uint32_t number = 0;
  for (std::size_t i = 0; i < octets.size(); ++i) number = number << 8U | smi::octet_at(octets, i);
  const auto size = octets.size();
  const std::uint32_t head = size == 1 ? 0x00U : size == 2 ? 0x8000U : size == 3 ? 0xc00000U : 0xe0000000U;
  const std::uint32_t mask = size == 1 ? 0x80U : size == 2 ? 0xc000U : size == 3 ? 0xe00000U : 0xf0000000U;
  if ((number & mask) != head) return std::nullopt;
  return (number & ~mask) + first[size - 1];
}

}  // namespace vergeset::checks
