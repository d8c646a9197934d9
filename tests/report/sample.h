#pragma once

#include <string>
#include <vector>

#include "change/apply.h"
#include "change/audit.h"
#include "report/screen.h"

/// Results made by hand, on the real models.
namespace vergeset::tests {

inline const schema::Schema& schema_here() {
  static const schema::Schema schema = [] {
    Faults faults;
    return schema::load_schema(SOURCE_DIR "/schemas", "", faults);
  }();
  return schema;
}

inline const schema::Model& model_here() {
  return *schema_here().model("ntcip1218-v01");
}

inline fleet::Unit unit_here(const std::string& name = "LK-104") {
  fleet::Unit unit;
  unit.name = name;
  unit.host = "127.77.0.104";
  unit.port = 16161;
  unit.model = &model_here();
  unit.groups = {{"all"}, {"signals", "corridor-7"}};
  return unit;
}

inline change::Item item(const std::string& object, const std::string& setting, smi::Value was,
                         smi::Value wanted) {
  const schema::Object& found = *model_here().object(object);
  return {object + ".0",
          setting,
          found.oid.child(0),
          found.syntax,
          found.unit,
          std::move(was),
          std::move(wanted),
          false,
          false,
          "groups/signals.yaml:12:5"};
}

inline change::Difference value_difference(change::Item item) {
  change::Difference difference;
  difference.name = item.setting;
  difference.asked = item.asked;
  difference.items.push_back(std::move(item));
  return difference;
}

inline change::Difference tolerance() {
  return value_difference(
      item("rsuGnssMaxDeviation", "position-tolerance", smi::Value::integer(20000), smi::Value::integer(15)));
}

inline change::Difference address() {
  return value_difference(item("rsuNotifyIpAddress", "notify-address", smi::Value::of_octets("0.0.0.0"),
                               smi::Value::of_octets("192.0.2.10")));
}

inline std::string payload() {
  std::string octets("\x00\x12", 2);
  for (int i = 0; i < 400; ++i) octets += static_cast<char>(i & 0xff);
  return octets;
}

inline change::Difference new_row() {
  change::Difference difference;
  difference.kind = change::Difference::Kind::make_row;
  difference.name = "store-and-repeat map";
  difference.row.table = "rsuMsgRepeatStatusTable";
  difference.row.index = 1;
  const smi::Value none = smi::Value::of_number(smi::Type::no_such_instance, 0);
  difference.items.push_back(item("rsuMsgRepeatPsid", "psid", none, smi::Value::of_octets("\x80\x02")));
  difference.items.push_back(item("rsuMsgRepeatPayload", "payload", none, smi::Value::of_octets(payload())));
  return difference;
}

inline change::Difference gone_row() {
  change::Difference difference;
  difference.kind = change::Difference::Kind::remove_row;
  difference.name = "store-and-repeat old-notice";
  difference.row.table = "rsuMsgRepeatStatusTable";
  difference.row.index = 9;
  const smi::Value none = smi::Value::of_number(smi::Type::no_such_instance, 0);
  difference.whole_row = {item("rsuMsgRepeatPsid", "psid", smi::Value::of_octets("\x80\x03"), none)};
  return difference;
}

inline change::Audited drifted(const fleet::Unit& unit) {
  change::Audited audited;
  audited.unit = &unit;
  audited.verdict = change::Verdict::drifted;
  audited.found.taken = "2026-11-25T02:00:00.000Z";
  audited.comparison.differences = {address(), tolerance(), new_row()};
  audited.comparison.remarks = {
      {change::Remark::Kind::other_row, "store-and-repeat row 7", "nobody asked for this row"},
      {change::Remark::Kind::not_offered, "notify-port", "the unit does not offer rsuNotifyPort"},
      {change::Remark::Kind::left_out, "supply", "means nothing here"}};
  audited.health = {{"satellites", fleet::Severity::warning, "3 satellites", "NTCIP 1218 v01 rsuGnssStatus"}};
  return audited;
}

inline change::Audited agreeing(const fleet::Unit& unit) {
  change::Audited audited;
  audited.unit = &unit;
  audited.verdict = change::Verdict::agrees;
  return audited;
}

inline change::Audited silent(const fleet::Unit& unit) {
  change::Audited audited;
  audited.unit = &unit;
  audited.what = "no answer within 4 tries";
  return audited;
}

/// A unit that would be changed, with a standby bracket.
inline change::Preview preview_of(const fleet::Unit& unit) {
  change::Preview preview;
  preview.unit = &unit;
  preview.result.unit = unit.name;
  preview.result.outcome = change::Outcome::settled;
  preview.result.differences = {address(), tolerance(), new_row()};
  preview.result.differences[2].row.needs_standby = true;
  change::ModeFound mode;
  mode.known = true;
  mode.asked = model_here().mode->operate;
  mode.operate = true;
  preview.result.sequence = change::sequence(model_here(), preview.result.differences, mode);
  return preview;
}

inline std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find('\n', from), text.size());
    lines.push_back(text.substr(from, end - from));
    from = end + 1;
  }
  return lines;
}

inline int widest(const std::string& text) {
  int width = 0;
  for (const std::string& line : lines_of(text)) width = std::max(width, report::text_width(line));
  return width;
}

inline report::Screen terminal(int width = 80) {
  report::Screen screen;
  screen.width = width;
  screen.break_words = true;
  return screen;
}

}  // namespace vergeset::tests
