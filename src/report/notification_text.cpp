#include "report/notification_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "change/usm_users.h"
#include "smi/inert.h"
#include "smi/words.h"

namespace vergeset::report {

namespace {

constexpr std::size_t most_told = 10;
constexpr std::size_t most_words = 120;
constexpr std::size_t most_exact = 4096;

/// Where one reads on: cut between letters of UTF-8.
std::string cut_short(std::string text, std::size_t most) {
  if (text.size() <= most) return text;
  std::size_t end = most - 3;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xc0U) == 0x80U) --end;
  return text.substr(0, end) + "...";
}

/// snmpTrapCommunity (RFC 3584, SNMP-COMMUNITY-MIB).
bool is_secret(const smi::Oid& instance) {
  static const smi::Oid community{1, 3, 6, 1, 6, 3, 18, 1, 4};
  return instance.within(community) || change::is_key_change(instance);
}

/// A variable as the model knows it: one of its objects, or one that notifications bring.
struct NamedVariable {
  std::string name;
  const smi::Syntax* syntax = nullptr;
};

NamedVariable variable_at(const schema::Model& model, const smi::Oid& instance) {
  if (const schema::Object* const object = model.object_at(instance))
    return {model.name_of(instance), &object->syntax};
  // The longest identifier that is this one or stands above it.
  auto at = model.told.upper_bound(instance);
  if (at != model.told.begin() && instance.within((--at)->first)) {
    const std::string index = instance.tail(at->first).str();
    return {at->second.name + (index.empty() ? "" : "." + index), &at->second.syntax};
  }
  return {instance.str(), nullptr};
}

std::string name_of_id(const schema::Model& model, const smi::Oid& id) {
  const auto known = model.notifications.find(id);
  return known == model.notifications.end() ? id.str() : known->second.name;
}

bool is_plain_ascii(const std::string& octets) {
  return !octets.empty() && std::all_of(octets.begin(), octets.end(), [](char one) {
    return static_cast<unsigned char>(one) >= 0x20 && static_cast<unsigned char>(one) < 0x7f;
  });
}

std::string variable_words(const schema::Model& model, const NamedVariable& variable,
                           const snmp::VarBind& bind) {
  if (is_secret(bind.oid)) return "(not shown)";
  if (variable.syntax != nullptr) return smi::to_text(*variable.syntax, bind.value);
  if (bind.value.type == smi::Type::object_id)
    return model.notifications.count(*bind.value.oid) > 0 ? name_of_id(model, *bind.value.oid)
                                                          : model.name_of(*bind.value.oid);
  if (bind.value.type == smi::Type::octet_string && is_plain_ascii(bind.value.octets))
    return "\"" + bind.value.octets + "\"";
  return smi::exact_text(bind.value);
}

std::string told_words(const schema::Model& model, const NamedVariable& variable, const snmp::VarBind& bind) {
  return smi::inert(cut_short(variable_words(model, variable, bind), most_words));
}

}  // namespace

NotificationWords notification_words(const schema::Model& model, const snmp::Notification& notification) {
  NotificationWords words;
  words.name = smi::inert(name_of_id(model, notification.id));
  for (std::size_t i = 0; i < std::min(notification.varbinds.size(), most_told); ++i) {
    const snmp::VarBind& bind = notification.varbinds[i];
    const NamedVariable variable = variable_at(model, bind.oid);
    words.what += fmt::format("{}{} = {}", i == 0 ? "" : ", ", smi::inert(variable.name),
                              told_words(model, variable, bind));
  }
  if (notification.varbinds.size() > most_told)
    words.what += fmt::format(" and {} more", notification.varbinds.size() - most_told);
  const auto known = model.notifications.find(notification.id);
  const std::string about = known == model.notifications.end() ? "" : known->second.about;
  words.line =
      fmt::format("notification {}{}{}{}{} ({})", words.name, words.what.empty() ? "" : ": ", words.what,
                  about.empty() ? "" : "; ", smi::inert(about), snmp::kind_name(notification.kind));
  return words;
}

Json notification_json(const schema::Model& model, const snmp::Notification& notification) {
  Json variables = Json::array();
  for (std::size_t i = 0; i < std::min(notification.varbinds.size(), most_told); ++i) {
    const snmp::VarBind& bind = notification.varbinds[i];
    const NamedVariable variable = variable_at(model, bind.oid);
    const bool shown = !is_secret(bind.oid);
    variables.push_back({{"object", variable.name},
                         {"oid", bind.oid.str()},
                         {"words", told_words(model, variable, bind)},
                         {"type", smi::type_name(bind.value.type)},
                         {"value", shown ? cut_short(smi::exact_text(bind.value), most_exact) : ""}});
  }
  const std::size_t left_out = notification.varbinds.size() - variables.size();
  return {{"name", name_of_id(model, notification.id)}, {"oid", notification.id.str()},
          {"kind", snmp::kind_name(notification.kind)}, {"up_s", notification.up / 100},
          {"variables", std::move(variables)},          {"left_out", left_out}};
}

}  // namespace vergeset::report
