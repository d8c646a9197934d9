#include "checks/counted.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string_view>

#include "records/clock.h"
#include "smi/syntax.h"

namespace vergeset::checks {

namespace {

constexpr std::int64_t minute_ms = 60000;
constexpr double day_ms = 86400000;
constexpr std::string_view psid_counts = "rsuMessageCountsByPsidCounts";
constexpr std::int64_t inbound = 1;  // NTCIP 1218, rsuMessageCountsDirection

/// A message that the files ask a unit to repeat.
struct Repeated {
  std::string label;
  std::string psid;  ///< P-encoded
  std::optional<std::int64_t> channel;
  double interval_ms = 0;
  std::optional<std::int64_t> start;  ///< milliseconds since 1970
  std::optional<std::int64_t> stop;

  /// How many are due between two times.
  double due(std::int64_t from, std::int64_t until) const {
    const std::int64_t begin = std::max(from, start.value_or(from));
    const std::int64_t end = std::min(until, stop.value_or(until));
    return end <= begin ? 0 : static_cast<double>(end - begin) / interval_ms;
  }
};

std::optional<std::int64_t> milliseconds(const smi::Value& value) {
  const auto instant = smi::instant_of(value.octets);
  return instant ? std::optional(*instant * 100) : std::nullopt;
}

std::optional<Repeated> repeated(const fleet::DesiredRow& row) {
  Repeated out;
  out.label = row.label;
  bool enabled = false;
  for (const fleet::DesiredValue& column : row.columns) {
    const std::string& name = column.object->common;
    if (name == "psid") out.psid = column.value.octets;
    if (name == "channel") out.channel = column.value.number;
    if (name == "interval") out.interval_ms = static_cast<double>(column.value.number);
    if (name == "start") out.start = milliseconds(column.value);
    if (name == "stop") out.stop = milliseconds(column.value);
    if (name == "enabled") enabled = column.value.number == 1;
  }
  if (!row.present || !enabled || out.psid.empty() || out.interval_ms <= 0) return std::nullopt;
  return out;
}

std::vector<Repeated> all_repeated(const fleet::Unit& unit) {
  std::vector<Repeated> all;
  for (const fleet::DesiredTable& table : unit.desired.tables) {
    if (table.table->common != "store-and-repeat") continue;
    for (const fleet::DesiredRow& row : table.rows) {
      if (auto one = repeated(row)) all.push_back(*std::move(one));
    }
  }
  return all;
}

bool repeats(const fleet::Unit& unit) {
  for (const fleet::DesiredTable& table : unit.desired.tables) {
    if (table.table->common == "store-and-repeat" && !table.rows.empty()) return true;
  }
  return false;
}

/// Counters that count together, and the messages that they count.
struct Counting {
  std::string name;  ///< as people are told
  std::map<std::string, std::uint32_t> values;
  std::vector<const Repeated*> messages;

  double due(std::int64_t from, std::int64_t until) const {
    double all = 0;
    for (const Repeated* one : messages) all += one->due(from, until);
    return all;
  }
};

bool counts(const AsRead& read, std::uint32_t row, const Repeated& message) {
  const smi::Value* psid = read.value("rsuMessageCountsByPsidId", row);
  if (psid == nullptr || read.number("rsuMessageCountsDirection", row) == inbound) return false;
  const std::int64_t channel = read.number("rsuMessageCountsByChannel", row).value_or(0);
  const bool on_channel = channel == 0 || !message.channel || *message.channel == channel;
  return on_channel && (psid->octets.empty() || psid->octets == message.psid);
}

void add_rows(const AsRead& read, const std::vector<Repeated>& messages, std::vector<Counting>& out) {
  const schema::Object* column = read.model.object(psid_counts);
  if (column == nullptr || column->table == nullptr) return;
  for (const std::uint32_t row : read.rows(*column->table)) {
    const auto value = read.number(column, row);
    if (!value) continue;
    const std::string name = fmt::format("{}.{}", psid_counts, row);
    Counting one{name, {{name, static_cast<std::uint32_t>(*value)}}, {}};
    for (const Repeated& message : messages)
      if (counts(read, row, message)) one.messages.push_back(&message);
    if (!one.messages.empty()) out.push_back(std::move(one));
  }
}

/// RSU 4.1 counts what is sent by kind of channel; together they count every message.
void add_scalars(const AsRead& read, const fleet::Unit& unit, const std::vector<Repeated>& messages,
                 std::vector<Counting>& out) {
  Counting all{"what its channels sent together", {}, {}};
  for (const schema::Object* object : counting_scalars(unit)) {
    if (const auto value = read.number(object))
      all.values[object->name + ".0"] = static_cast<std::uint32_t>(*value);
  }
  for (const Repeated& message : messages) all.messages.push_back(&message);
  if (!all.values.empty() && !messages.empty()) out.push_back(std::move(all));
}

std::vector<Counting> countings(const AsRead& read, const fleet::Unit& unit,
                                const std::vector<Repeated>& messages) {
  std::vector<Counting> out;
  if (!read.model.mode || read.number(read.model.mode->status) != read.model.mode->status_operate) return out;
  add_rows(read, messages, out);
  add_scalars(read, unit, messages, out);
  return out;
}

std::string labels_of(const Counting& counting) {
  std::string text;
  for (const Repeated* one : counting.messages) text += (text.empty() ? "" : ", ") + one->label;
  return text;
}

/// "2026-11-25 02:00" of a stamp.
std::string minute_text(std::int64_t milliseconds) {
  std::string text = records::stamp(milliseconds).substr(0, 16);
  text[10] = ' ';
  return text + "Z";
}

void judge_sent(const fleet::Limits& limits, const Counting& counting, const records::Counted& before,
                const records::Counted& now, bool anew, Findings& findings) {
  const std::int64_t passed = now.taken - before.taken;
  const std::int64_t span = anew ? std::min(passed, now.up.value_or(0) * 1000) : passed;
  if (span < minute_ms) return;
  double sent = 0;
  for (const auto& [name, value] : counting.values) {
    const auto was = before.sent.find(name);
    if (was == before.sent.end()) return;
    sent += anew ? value : value - was->second;
  }
  const double due = counting.due(now.taken - span, now.taken);
  if (due < 2 || sent >= due * limits.messages_sent_percent / 100) return;
  findings.add("messages-sent",
               fmt::format("sent {:.0f} of some {:.0f} messages that were due since {}: {}", sent, due,
                           minute_text(now.taken - span), labels_of(counting)),
               {}, "by its counters: " + counting.name);
}

}  // namespace

bool restarted(const records::Counted& before, const records::Counted& now) {
  if (!before.up || !now.up) return false;
  if (*now.up < *before.up) return true;
  const std::int64_t passed_s = (now.taken - before.taken) / 1000;
  return *now.up < passed_s - passed_s / 1000 - 60;
}

records::Counted count(const AsRead& read, const fleet::Fleet& fleet, const fleet::Unit& unit,
                       const records::Counted* before) {
  records::Counted out;
  out.taken = read.now;
  out.up = read.number("rsuTimeSincePowerOn");
  const std::vector<Repeated> messages = all_repeated(unit);
  for (const Counting& one : countings(read, unit, messages))
    out.sent.insert(one.values.begin(), one.values.end());
  if (before == nullptr) return out;
  out.restarts = before->restarts;
  if (restarted(*before, out)) out.restarts.push_back(read.now - *out.up * 1000);
  const auto oldest = read.now - static_cast<std::int64_t>(fleet.limits.restarts_within_days * day_ms);
  std::erase_if(out.restarts, [&](std::int64_t when) { return when < oldest; });
  return out;
}

void judge_counted(const fleet::Fleet& fleet, const fleet::Unit& unit, const records::Counted& before,
                   const records::Counted& now, Findings& findings, const AsRead& read) {
  const bool anew = restarted(before, now);
  const auto many = static_cast<double>(now.restarts.size());
  if (many >= fleet.limits.restarts) {
    findings.add("restarts",
                 fmt::format("started anew {} time{} in the last {:g} days, last {}", now.restarts.size(),
                             now.restarts.size() == 1 ? "" : "s", fleet.limits.restarts_within_days,
                             minute_text(now.restarts.back())));
  } else if (anew) {
    findings.add("restarted",
                 fmt::format("started anew {}, after the audit of {}",
                             minute_text(now.taken - *now.up * 1000), minute_text(before.taken)));
  }
  const std::vector<Repeated> messages = all_repeated(unit);
  for (const Counting& one : countings(read, unit, messages))
    judge_sent(fleet.limits, one, before, now, anew, findings);
}

std::vector<const schema::Object*> counting_columns(const fleet::Unit& unit) {
  std::vector<const schema::Object*> columns;
  if (!repeats(unit) || !counting_scalars(unit).empty()) return columns;
  for (const char* name : {"rsuMessageCountsByPsidId", "rsuMessageCountsByChannel",
                           "rsuMessageCountsDirection", "rsuMessageCountsByPsidCounts"}) {
    const schema::Object* column = unit.model->object(name);
    if (column != nullptr && column->table != nullptr) columns.push_back(column);
  }
  return columns;
}

std::vector<const schema::Object*> counting_scalars(const fleet::Unit& unit) {
  std::vector<const schema::Object*> scalars;
  if (!repeats(unit)) return scalars;
  for (const char* name :
       {"rsuAltSchMsgSent", "rsuAltCchMsgSent", "rsuContSchMsgSent", "rsuContCchMsgSent"}) {
    const schema::Object* object = unit.model->object(name);
    if (object != nullptr && object->table == nullptr) scalars.push_back(object);
  }
  return scalars;
}

}  // namespace vergeset::checks
