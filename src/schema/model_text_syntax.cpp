#include "schema/model_text_syntax.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <string_view>

#include "smi/form.h"
#include "smi/words.h"

namespace vergeset::schema {

namespace {

using smi::Form;
using smi::MibObject;
using smi::MibType;
using Sizes = std::vector<smi::Range>;

bool any_of_words(std::string_view text, std::initializer_list<std::string_view> words) {
  return std::ranges::any_of(words, [&](std::string_view word) { return text.find(word) != text.npos; });
}

bool ends_with_any(std::string_view text, std::initializer_list<std::string_view> words) {
  return std::ranges::any_of(words, [&](std::string_view word) { return text.ends_with(word); });
}

/// DISPLAY-HINT "255a" or "32t": text from end to end (RFC 2579 3.1).
bool is_text_hint(std::string_view hint) {
  if (hint.size() < 2 || (hint.back() != 'a' && hint.back() != 't')) return false;
  hint.remove_suffix(1);
  return std::ranges::all_of(hint, [](char c) { return c >= '0' && c <= '9'; });
}

struct TextForm {
  Form form;
  std::string guess;
};

/// What a textual convention says of octets (RFC 2579, RFC 2465, RFC 4001).
std::optional<Form> form_by_convention(const MibObject& object) {
  const std::string& name = object.convention;
  const Sizes& sizes = object.ranges;
  if (name == "MacAddress") return Form::mac;
  if (name == "DateAndTime") return Form::date_time;
  if ((name == "Ipv6Address" || name == "InetAddressIPv6") && sizes == Sizes{{16, 16}})
    return Form::address_octets;
  if (name == "DisplayString" || is_text_hint(object.hint)) return Form::display_string;
  return std::nullopt;
}

/// What octets without a convention are likely to be.
std::optional<TextForm> guessed_form(const MibObject& object) {
  const Sizes& sizes = object.ranges;
  const std::string description = smi::lower(object.description);
  const bool few = !sizes.empty() && sizes.front().low >= 0 && sizes.back().high <= 4;
  if (few && any_of_words(object.name, {"Psid", "PSID"})) return TextForm{Form::psid, "by its name"};
  if (sizes == Sizes{{0, 0}, {6, 6}} && any_of_words(description, {"dateandtime"}))
    return TextForm{Form::minute_stamp, "by its sizes and its description"};
  if (sizes == Sizes{{0, 0}, {6, 6}} && ends_with_any(object.name, {"Start", "Stop", "End", "Time", "Date"}))
    return TextForm{Form::minute_stamp, "by its sizes and its name"};
  if (sizes == Sizes{{3, 3}} && object.name.ends_with("Time"))
    return TextForm{Form::time_of_day, "by its size and its name"};
  if (sizes == Sizes{{1, 1}}) return TextForm{Form::octet_number, "by its size"};
  return std::nullopt;
}

/// "OCTET STRING (SIZE(0|6))", for remarks.
std::string octets_text(const MibObject& object) {
  return smi::Syntax{Form::octets, object.ranges, {}}.str();
}

TextForm octet_form(const MibObject& object) {
  if (const auto said = form_by_convention(object)) {
    const std::string description = smi::lower(object.description);
    const bool address = *said == Form::display_string && ends_with_any(object.name, {"Addr", "Address"}) &&
                         any_of_words(description, {"ipv4"}) && any_of_words(description, {"ipv6"});
    if (address) return {Form::address_text, "by its name and its description; the MIB has text"};
    return {*said, ""};
  }
  if (auto guess = guessed_form(object)) {
    guess->guess += "; the MIB has " + octets_text(object);
    return *guess;
  }
  return {Form::octets, ""};
}

Result<TextForm> form_of(const MibObject& object) {
  switch (object.type) {
    case MibType::integer:
      if (object.convention == "RowStatus") return TextForm{Form::row_status, ""};
      return TextForm{object.labels.empty() ? Form::integer : Form::enumeration, ""};
    case MibType::unsigned32:
    case MibType::gauge32:
      return TextForm{object.labels.empty() ? Form::gauge : Form::enumeration, ""};
    case MibType::counter32:
      return TextForm{Form::counter, ""};
    case MibType::counter64:
      return TextForm{Form::counter64, ""};
    case MibType::time_ticks:
      return TextForm{Form::time_ticks, ""};
    case MibType::object_id:
      return TextForm{Form::object_id, ""};
    case MibType::ip_address:
      return TextForm{Form::ip_address, ""};
    case MibType::bits:
      return TextForm{Form::bits, ""};
    case MibType::octet_string:
      return octet_form(object);
    case MibType::opaque:
      return Problem{"it is Opaque, octets that hold a value of another kind"};
    case MibType::rows:
      return Problem{"the type of its SYNTAX is not known; is a module missing that has it?"};
    case MibType::node:
    case MibType::other:
      break;
  }
  return Problem{"its type is none that agents answer with"};
}

bool has_limits(Form form) {
  switch (form) {
    case Form::integer:
    case Form::gauge:
    case Form::counter:
    case Form::display_string:
    case Form::address_text:
    case Form::octets:
    case Form::psid:
      return true;
    default:
      return false;  // others say their sizes by their name
  }
}

/// The MIB's limits in order; nothing where the form goes without saying so.
Sizes limits_of(const MibObject& object, Form form) {
  if (form == Form::octet_number && object.name.ends_with("PrefixLength")) return {{0, 128}};
  if (!has_limits(form)) return {};
  Sizes limits = object.ranges;
  std::ranges::sort(limits, {}, &smi::Range::low);
  const Sizes& usual = smi::rule_of(form).usual;
  // A Psid is written with its sizes always: one may not allow all four.
  if (form != Form::psid && limits == usual) limits.clear();
  return limits;
}

}  // namespace

Result<TextSyntax> text_syntax(const MibObject& object) {
  auto form = form_of(object);
  if (!form) return Problem{form.problem()};
  TextSyntax made{{form->form, limits_of(object, form->form), {}}, form->guess, ""};
  if (form->form == Form::enumeration || form->form == Form::bits) made.syntax.labels = object.labels;
  if (made.syntax.labels.empty() && form->form == Form::bits) return Problem{"its BITS have no names"};
  auto read_back = smi::Syntax::parse(made.syntax.str());
  if (!read_back && !made.syntax.ranges.empty()) {
    made.remark = "its limits are left out: " + read_back.problem();
    made.syntax.ranges.clear();
    read_back = smi::Syntax::parse(made.syntax.str());
  }
  if (!read_back) return Problem{"its syntax cannot be written: " + read_back.problem()};
  made.syntax = *read_back;
  return made;
}

Result<TextSyntax> text_index_syntax(const MibObject& object) {
  constexpr std::int64_t most = std::numeric_limits<std::int32_t>::max();
  auto plain = text_syntax(object);
  if (!plain || plain->syntax.form == Form::integer) return plain;
  TextSyntax made{{Form::integer, {}, {}}, "", "the MIB has " + plain->syntax.str()};
  if (plain->syntax.form == Form::enumeration) {
    std::int64_t low = most;
    std::int64_t high = std::numeric_limits<std::int32_t>::min();
    for (const smi::Label& label : plain->syntax.labels) {
      low = std::min(low, label.number);
      high = std::max(high, label.number);
    }
    made.syntax.ranges = {{low, high}};
    made.syntax.words = plain->syntax.labels;
    return made;
  }
  if (plain->syntax.form != Form::gauge) return Problem{"its index is no number but " + plain->syntax.str()};
  made.syntax.ranges = smi::ranges_of(plain->syntax);
  for (smi::Range& range : made.syntax.ranges) range.high = std::min(range.high, most);
  if (made.syntax.ranges.back().low > most) return Problem{"its index is above 2147483647"};
  return made;
}

}  // namespace vergeset::schema
