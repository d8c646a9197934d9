#include "change/may_write.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "change/serial_no.h"

namespace vergeset::change {

namespace {

using Verdict = MayWrite::Verdict;
using snmp::VarBind;

constexpr int no_such_name = 2;  // error-status (RFC 3416 section 3); SNMPv1 has 2 to 4 alone (RFC 3584 4.4)
constexpr int bad_value = 3;
constexpr int read_only = 4;
constexpr int no_access = 6;
constexpr int wrong_type = 7;
constexpr int wrong_length = 8;
constexpr int wrong_encoding = 9;
constexpr int wrong_value = 10;
constexpr int inconsistent_value = 12;
constexpr int authorization_error = 16;
constexpr int not_writable = 17;

bool refuses_access(int status) {
  return status == no_access || status == authorization_error || status == not_writable ||
         status == no_such_name || status == read_only;
}

/// An error-status that comes behind access in the order of RFC 3416 4.2.5.
bool looks_at_value(int status) {
  return status == inconsistent_value || status == bad_value ||
         (status >= wrong_type && status <= wrong_value);
}

bool harmless(const fleet::Unit& unit, const schema::Object& object) {
  const schema::Traits traits = unit.desired.traits_of(object);
  const bool mode =
      unit.model->mode && (unit.model->mode->asked == &object || unit.model->mode->status == &object);
  return object.table == nullptr && object.settable() && !mode && !traits.action && !traits.running &&
         !traits.needs_standby && !traits.cuts_off && !traits.ignored;
}

bool of_expected_type(const schema::Object& object, const smi::Value& value) {
  return !value.absent() && value.type == object.syntax.wire();
}

/// The first that the unit offers, as the model has it, and small enough for any message.
const schema::Object* setting_to_ask(const fleet::Unit& unit, const AsFound& found) {
  constexpr std::size_t small = 200;
  for (const schema::Object* object : may_be_asked(unit)) {
    const smi::Value& value = found.at(object->oid.child(0));
    if (of_expected_type(*object, value) && value.octets.size() <= small) return object;
  }
  return nullptr;
}

/// A number that snmpSetSerialNo has not, nor comes to have while we ask: another manager would have to count
/// it on a thousand million times.
smi::Value other_number(const smi::Value& number) {
  constexpr std::int64_t half = std::int64_t{1} << 30U;
  return smi::Value::integer((number.number + half) % (2 * half));
}

smi::Value of_other_type(const schema::Object& object) {
  if (object.syntax.wire() == smi::Type::octet_string) return smi::Value::integer(0);
  return smi::Value::of_octets("asked by vergeset reach");
}

MayWrite refused(const std::string& object, int status) {
  return {Verdict::no, fmt::format("{} of {}", snmp::status_name(status), object)};
}

/// What an answer to a SET that had to be refused says of `object`.
MayWrite read_refusal(const snmp::Answer& answer, const std::string& object) {
  if (answer) {
    return {Verdict::unknown,
            fmt::format("the unit took what it had to refuse for {} (RFC 3416 4.2.5)", object)};
  }
  const snmp::Error& error = answer.error();
  if (error.failure == snmp::Failure::no_answer) {
    return {Verdict::unanswered, fmt::format("no answer to a SET of {}, though reads are answered", object)};
  }
  if (refuses_access(error.status)) return refused(object, error.status);
  if (looks_at_value(error.status)) {
    return {Verdict::yes, fmt::format("{} may be written", object)};
  }
  return {Verdict::unknown, error.text};
}

snmp::Task<MayWrite> ask_by_type(snmp::Link& link, const schema::Object& setting) {
  std::vector<VarBind> varbinds;
  varbinds.push_back({setting.oid.child(0), of_other_type(setting)});
  const snmp::Answer answer = co_await link.set(std::move(varbinds));
  co_return read_refusal(answer, setting.name + ".0");
}

}  // namespace

std::vector<const schema::Object*> may_be_asked(const fleet::Unit& unit) {
  constexpr std::size_t enough = 6;
  std::vector<const schema::Object*> all;
  const auto add = [&](const schema::Object* object) {
    const bool there = std::find(all.begin(), all.end(), object) != all.end();
    if (all.size() < enough && !there && harmless(unit, *object)) all.push_back(object);
  };
  const auto own = [&](const schema::Object& object) { return object.oid.within(unit.model->root); };
  for (const fleet::DesiredValue& value : unit.desired.values) {
    if (own(*value.object)) add(value.object);
  }
  for (const auto& [name, object] : unit.model->objects) {
    if (own(object)) add(&object);
  }
  // The system group, which every agent has.
  for (const auto& [name, object] : unit.model->objects) add(&object);
  return all;
}

snmp::Task<MayWrite> may_write(snmp::Link& link, const fleet::Unit& unit, const AsFound& found) {
  const schema::Object* const setting = setting_to_ask(unit, found);
  const smi::Value& number = found.at(SerialNo::instance());
  const bool numbered = number.type == smi::Type::integer;
  if (!numbered && setting == nullptr) {
    co_return MayWrite{Verdict::unknown,
                       "the unit shows no setting that could be asked about without writing it"};
  }
  if (!numbered) {
    MayWrite by_type = co_await ask_by_type(link, *setting);
    co_return by_type;
  }
  std::vector<VarBind> varbinds;
  if (setting != nullptr) {
    const smi::Oid instance = setting->oid.child(0);
    varbinds.push_back({instance, found.at(instance)});
  }
  varbinds.push_back({SerialNo::instance(), other_number(number)});
  const std::size_t of_number = varbinds.size();
  const snmp::Answer answer = co_await link.set(std::move(varbinds));
  const std::string object = setting == nullptr ? "snmpSetSerialNo.0" : setting->name + ".0";
  const bool number_refused =
      !answer && refuses_access(answer.error().status) && answer.error().index == of_number;
  if (setting != nullptr && number_refused) {
    MayWrite by_type = co_await ask_by_type(link, *setting);
    co_return by_type;
  }
  // It takes its own value again, and heeds no number.
  if (answer)
    co_return MayWrite{Verdict::yes, object + " may be written; the unit does not heed snmpSetSerialNo"};
  co_return read_refusal(answer, object);
}

}  // namespace vergeset::change
