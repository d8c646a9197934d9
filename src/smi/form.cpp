#include "smi/form.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <stdexcept>

namespace vergeset::smi {

namespace {

constexpr std::int64_t most_octets = 65535;  // RFC 2578 7.1.2
constexpr std::int64_t most_unsigned = std::numeric_limits<std::uint32_t>::max();
constexpr Range all_signed{std::numeric_limits<std::int32_t>::min(),
                           std::numeric_limits<std::int32_t>::max()};
constexpr Range all_unsigned{0, most_unsigned};
constexpr Range all_wide{0, std::numeric_limits<std::int64_t>::max()};

constexpr Range just(std::int64_t number) {
  return {number, number};
}

}  // namespace

const std::vector<FormRule>& form_rules() {
  using enum Form;
  using enum Bound;
  // DisplayString: RFC 2579 has 255 octets at most. DateAndTime: RFC 2579 has 8 or 11; an object may
  // allow 0 as well. MinuteStamp: RSU 4.1 has 0 or 6.
  static const std::vector<FormRule> rules{
      {integer, "Integer32", Type::integer, number, {all_signed}, {all_signed}},
      {enumeration, "INTEGER", Type::integer, nothing, {}, {}},
      {bits, "BITS", Type::octet_string, nothing, {}, {}},
      {row_status, "RowStatus", Type::integer, nothing, {}, {}},
      {counter, "Counter32", Type::counter32, number, {all_unsigned}, {all_unsigned}},
      {counter64, "Counter64", Type::counter64, number, {all_wide}, {all_wide}},
      {gauge, "Gauge32", Type::gauge32, number, {all_unsigned}, {all_unsigned}},
      {time_ticks, "TimeTicks", Type::time_ticks, number, {all_unsigned}, {all_unsigned}},
      {object_id, "OBJECT IDENTIFIER", Type::object_id, nothing, {}, {}},
      {ip_address, "IpAddress", Type::ip_address, nothing, {just(4)}, {just(4)}},
      {display_string, "DisplayString", Type::octet_string, size, {{0, 255}}, {{0, most_octets}}},
      {octets, "OCTET STRING", Type::octet_string, size, {{0, most_octets}}, {{0, most_octets}}},
      {mac, "MacAddress", Type::octet_string, size, {just(6)}, {just(0), just(6)}},
      {psid, "Psid", Type::octet_string, size, {{1, 4}}, {{0, 4}}},
      {date_time, "DateAndTime", Type::octet_string, size, {just(8), just(11)}, {just(0), just(8), just(11)}},
      {minute_stamp, "MinuteStamp", Type::octet_string, size, {just(0), just(6)}, {just(0), just(6)}},
      {time_of_day, "TimeOfDay", Type::octet_string, size, {just(3)}, {just(0), just(3)}},
      {address_text, "AddressText", Type::octet_string, size, {{0, 255}}, {{0, most_octets}}},
      {address_octets, "AddressOctets", Type::octet_string, size, {just(16)}, {just(0), just(16)}},
      {octet_number, "OctetNumber", Type::octet_string, number, {{0, 255}}, {{0, 255}}},
  };
  return rules;
}

const FormRule& rule_of(Form form) {
  for (const FormRule& rule : form_rules())
    if (rule.form == form) return rule;
  throw std::logic_error("a form without a rule");
}

const std::vector<Range>& ranges_of(const Syntax& syntax) {
  return syntax.ranges.empty() ? rule_of(syntax.form).usual : syntax.ranges;
}

const std::vector<Label>& row_status_labels() {
  // RFC 2579, RowStatus
  static const std::vector<Label> labels{{"active", 1},      {"notInService", 2},  {"notReady", 3},
                                         {"createAndGo", 4}, {"createAndWait", 5}, {"destroy", 6}};
  return labels;
}

const std::vector<Label>& labels_of(const Syntax& syntax) {
  return syntax.form == Form::row_status ? row_status_labels() : syntax.labels;
}

bool among(const std::vector<Range>& ranges, std::int64_t number) {
  return std::ranges::any_of(ranges,
                             [&](const Range& range) { return range.low <= number && number <= range.high; });
}

std::string ranges_text(const std::vector<Range>& ranges) {
  std::string text;
  for (const Range& range : ranges) {
    if (!text.empty()) text += '|';
    text +=
        range.low == range.high ? fmt::format("{}", range.low) : fmt::format("{}..{}", range.low, range.high);
  }
  return text;
}

std::string labels_text(const std::vector<Label>& labels) {
  std::string text;
  for (const Label& label : labels)
    text += fmt::format("{}{}({})", text.empty() ? "" : ", ", label.name, label.number);
  return text;
}

std::string syntax_words(const Syntax& syntax) {
  Syntax whole = syntax;
  if (rule_of(syntax.form).bound != Bound::nothing && syntax.form != Form::counter64)
    whole.ranges = ranges_of(syntax);
  return whole.str();
}

bool size_allowed(const Syntax& syntax, std::size_t size) {
  const auto octets = static_cast<std::int64_t>(size);
  return among(ranges_of(syntax), octets) && among(rule_of(syntax.form).widest, octets);
}

}  // namespace vergeset::smi
