#include "fleet/find_row.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <unordered_map>

#include "fleet/substitute.h"

namespace vergeset::fleet {

namespace {

void take_index(const Reading& reading, const TableAsks& table, const Written& written, DesiredRow& row) {
  const auto text = substitute(written.text, reading.unit);
  if (!text) {
    reading.fault(written.place, "index: " + text.problem());
    return;
  }
  const smi::Range range = table.table->index_range;
  std::uint32_t index = 0;
  const char* const last = text->data() + text->size();
  const auto [end, error] = std::from_chars(text->data(), last, index);
  if (error == std::errc() && end == last && index >= range.low && index <= range.high) {
    row.index = index;
    return;
  }
  reading.fault(written.place, fmt::format("expected an index {} to {} of {}, found {}", range.low,
                                           range.high, table.name, *text));
}

/// Where among the row's columns an object stands.
std::optional<std::size_t> position_of(const DesiredRow& row, const schema::Object& object) {
  for (std::size_t i = 0; i < row.columns.size(); ++i) {
    if (row.columns[i].object == &object) return i;
  }
  return std::nullopt;
}

/// One column of `match`. False where this model has no such column and it picks nothing out.
bool take_match(const Reading& reading, const TableAsks& table, const RowAsks& asks, const Written& member,
                DesiredRow& row) {
  const Meaning meaning = column_meaning(table, member.text, *reading.unit.model);
  if (meaning.object == nullptr && meaning.common == nullptr) {
    // An unknown name is a fault of check_names; one of another model is told here.
    if (reading.names.has_column(table.name, member.text)) {
      reading.fault(member.place, reading.unit.model->name + " has no " + member.text + " to match");
    }
    return true;
  }
  if (meaning.object == nullptr) return false;
  if (meaning.from_payload()) {
    if (asks.message.empty()) {
      reading.fault(member.place, "match names " + member.text + ", but the row does not give it");
    } else if (const auto id = settle_message(reading, asks.message)) {
      row.match_payload = DesiredRow::PayloadKind{meaning.object, *id};
    }
    return true;
  }
  if (const auto position = position_of(row, *meaning.object)) {
    if (std::find(row.match.begin(), row.match.end(), *position) == row.match.end()) {
      row.match.push_back(*position);
    }
  } else if (asks.columns.count(meaning.object->name) == 0) {
    reading.fault(member.place, "match names " + member.text + ", but the row does not give it");
  }
  return true;
}

void take_matches(const Reading& reading, const TableAsks& table, const RowAsks& asks, const RowBlock& block,
                  DesiredRow& row) {
  bool any = false;
  for (const Written& member : block.match) any = take_match(reading, table, asks, member, row) || any;
  if (any) return;
  reading.fault(block.match[0].place, reading.unit.model->name + " has none of the columns that row " +
                                          asks.label +
                                          " is matched by; match others, or state index: under only:");
}

/// Part of a key: the same for values that agree, and nearly always another for those that do not.
std::string match_key(const DesiredValue& value) {
  const smi::Value& wanted = value.value;
  switch (value.object->syntax.form) {
    case smi::Form::date_time:
    case smi::Form::minute_stamp:
    case smi::Form::address_text:
      return "";  // several spellings agree
    default:
      // Texts and BITS agree whatever zero octets stand behind them.
      return std::to_string(wanted.number) + '/' +
             wanted.octets.substr(0, wanted.octets.find_last_not_of('\0') + 1);
  }
}

/// Rows with the same match values have the same key.
std::string match_key(const DesiredRow& row) {
  std::vector<std::string> parts;
  for (const std::size_t position : row.match) {
    const DesiredValue& value = row.columns[position];
    parts.push_back(value.object->name + '=' + match_key(value));
  }
  std::sort(parts.begin(), parts.end());
  std::string key = row.match_payload ? std::to_string(row.match_payload->message_id) : "";
  for (const std::string& part : parts) add_to_key(key, part);
  return key;
}

bool same_values(const DesiredRow& a, const DesiredRow& b) {
  const bool same_kind = a.match_payload.has_value() == b.match_payload.has_value() &&
                         (!a.match_payload || a.match_payload->message_id == b.match_payload->message_id);
  if (!same_kind || a.match.size() != b.match.size()) return false;
  if (a.match.empty() && !a.match_payload) return false;
  return std::all_of(a.match.begin(), a.match.end(), [&](std::size_t position) {
    const DesiredValue& value = a.columns[position];
    return std::any_of(b.match.begin(), b.match.end(), [&](std::size_t other) {
      return b.columns[other].object == value.object &&
             smi::agree(value.object->syntax, b.columns[other].value, value.value);
    });
  });
}

void tell_same_place(const Reading& reading, const DesiredTable& table, const DesiredRow& row,
                     const DesiredRow& other) {
  reading.fault(row.asked.place, "row " + row.label + " of " + table.name + " has the same " +
                                     (row.index ? fmt::format("index {}", *row.index) : "match values") +
                                     " as row " + other.label + " at " + other.asked.place.str());
}

}  // namespace

void find_row(const Reading& reading, const TableAsks& table, const RowAsks& asks, DesiredRow& row) {
  if (asks.finder.empty()) {
    reading.fault(asks.block->place,
                  "row " + asks.label + " of " + table.name +
                      (table.table->rows_are_made() ? " needs match (the columns that pick it out) or index"
                                                    : " needs index: the rows are the unit's own"));
    return;
  }
  const Say& say = settle(reading, "how row " + asks.label + " is found", asks.finder);
  if (say.row->index) {
    take_index(reading, table, *say.row->index, row);
  } else if (table.table->rows_are_made()) {
    take_matches(reading, table, asks, *say.row, row);
  } else {
    reading.fault(say.place, "the rows of " + table.name + " are the unit's own: state index for row " +
                                 asks.label + ", not match");
  }
}

void check_rows_differ(const Reading& reading, const DesiredTable& table) {
  std::unordered_map<std::uint32_t, std::size_t> by_index;
  std::unordered_map<std::string, std::vector<std::size_t>> by_match;
  for (std::size_t at = 0; at < table.rows.size(); ++at) {
    const DesiredRow& row = table.rows[at];
    std::size_t other = row.index ? by_index.try_emplace(*row.index, at).first->second : at;
    std::vector<std::size_t>& alike = by_match[match_key(row)];
    const auto same = std::find_if(alike.begin(), alike.end(), [&](std::size_t earlier) {
      return same_values(row, table.rows[earlier]);
    });
    if (same != alike.end()) other = std::min(other, *same);
    alike.push_back(at);
    if (other != at) tell_same_place(reading, table, row, table.rows[other]);
  }
}

}  // namespace vergeset::fleet
