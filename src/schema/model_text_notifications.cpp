#include "schema/model_text_notifications.h"

#include <fmt/format.h>

#include <algorithm>

#include "schema/first_sentence.h"
#include "schema/model_text_scalar.h"

namespace vergeset::schema {

namespace {

using smi::MibNotification;
using smi::MibObject;

constexpr std::size_t widest_notification = 110;

class NotificationsMaker {
 public:
  NotificationsMaker(const smi::Mib& mib, KnownToModel known, ModelParts& parts)
      : known_(std::move(known)), parts_(parts) {
    for (const auto* list : {&mib.objects, &mib.brought})
      for (const MibObject& object : *list) enter(object);
  }

  void take(const MibNotification& notification) {
    if (const std::string why = why_not(notification); !why.empty())
      return leave_out(notification.name, notification.oid, why);
    names_.insert(notification.name);
    known_.notifications[notification.oid] = notification.name;
    PartNotification part{&notification, first_sentence(notification.description), {}};
    std::set<std::string> names;
    for (const smi::Oid& oid : notification.brings) bring(oid, part, names);
    if (!notification.unknown.empty()) {
      const std::string& first = notification.unknown.front();
      const std::size_t more = notification.unknown.size() - 1;
      leave_out(first, notification.oid,
                fmt::format("{} brings it, and it is defined nowhere{}", notification.name,
                            more > 0 ? fmt::format(", nor are {} more", more) : ""));
    }
    parts_.notifications.push_back(std::move(part));
  }

 private:
  /// A node and an object may have the same identifier; the object counts.
  void enter(const MibObject& object) {
    const MibObject*& there = by_oid_[object.oid];
    if (there == nullptr || there->type == smi::MibType::node) there = &object;
  }

  void leave_out(const std::string& name, const smi::Oid& oid, const std::string& why) {
    parts_.left_out.push_back({name, oid, why});
  }

  std::string why_not(const MibNotification& notification) const {
    if (notification.oid.size() < 2) return "its identifier is too short";
    if (const auto at = known_.notifications.find(notification.oid); at != known_.notifications.end())
      return at->second == notification.name
                 ? "it is part of the model anyway"
                 : fmt::format("{} has this object identifier already", at->second);
    return names_.count(notification.name) != 0 ? "another notification has this name already" : "";
  }

  void bring(const smi::Oid& oid, PartNotification& part, std::set<std::string>& names) {
    const auto found = by_oid_.find(oid);
    if (found == by_oid_.end() || known_.objects.count(oid) != 0) return;
    const MibObject& object = *found->second;
    // Each is written, or found wanting, once.
    known_.objects.insert(oid);
    auto syntax = text_syntax(object);
    if (!syntax) return leave_out(object.name, oid, syntax.problem());
    if (!names.insert(object.name).second)
      return leave_out(object.name, oid, part.notification->name + " brings two variables of this name");
    part.brings.push_back({&object, *std::move(syntax)});
  }

  KnownToModel known_;
  ModelParts& parts_;
  std::map<smi::Oid, const MibObject*> by_oid_;
  std::set<std::string> names_;
};

/// Below the root, or whole.
std::string place_text(const smi::Oid& oid, const smi::Oid& root) {
  const bool below = oid.within(root) && oid != root;
  return below ? "oid: " + oid.tail(root).str() : "absolute: " + oid.str();
}

std::string variable_text(const PartObject& part, const smi::Oid& root) {
  const std::string syntax = yaml_scalar(part.syntax.syntax.str());
  const std::string key = "      " + yaml_scalar(part.object->name) + ":";
  const std::string place = place_text(part.object->oid, root);
  std::string line = fmt::format("{} {{{}, syntax: {}}}\n", key, place, syntax);
  if (line.size() <= widest_notification) return line;
  return fmt::format("{}\n        {}\n        syntax: {}\n", key, place, syntax);
}

std::string notification_text(const PartNotification& part, const smi::Oid& root) {
  const std::string key = "  " + yaml_scalar(part.notification->name) + ":";
  const std::string place = place_text(part.notification->oid, root);
  const std::string about = part.about.empty() ? "" : "about: " + yaml_scalar(part.about);
  std::string line = fmt::format("{} {{{}{}{}}}\n", key, place, about.empty() ? "" : ", ", about);
  if (part.brings.empty() && line.size() <= widest_notification) return line;
  std::string text = fmt::format("{}\n    {}\n", key, place);
  if (!about.empty()) text += fmt::format("    {}\n", about);
  if (!part.brings.empty()) text += "    objects:\n";
  for (const PartObject& variable : part.brings) text += variable_text(variable, root);
  return text;
}

}  // namespace

KnownToModel known_to(const ModelParts& parts) {
  KnownToModel known{system_objects(), system_notifications()};
  for (const PartObject& part : parts.scalars) known.objects.insert(part.object->oid);
  for (const PartTable& table : parts.tables)
    for (const PartObject& column : table.columns) known.objects.insert(column.object->oid);
  return known;
}

KnownToModel known_to(const Model& base) {
  KnownToModel known;
  for (const auto& [name, object] : base.objects) known.objects.insert(object.oid);
  for (const auto& [oid, told] : base.told) known.objects.insert(oid);
  for (const auto& [oid, notification] : base.notifications) known.notifications[oid] = notification.name;
  return known;
}

void add_notifications(const smi::Mib& mib, const smi::Oid& root, KnownToModel known, ModelParts& parts) {
  NotificationsMaker maker(mib, std::move(known), parts);
  for (const MibNotification& notification : mib.notifications)
    if (notification.oid.within(root)) maker.take(notification);
  std::ranges::stable_sort(parts.left_out, {}, &LeftOut::oid);
}

std::string notifications_text(const ModelParts& parts, const smi::Oid& root) {
  if (parts.notifications.empty()) return {};
  std::string text = "notifications:\n";
  for (const PartNotification& part : parts.notifications) text += notification_text(part, root);
  return text;
}

}  // namespace vergeset::schema
