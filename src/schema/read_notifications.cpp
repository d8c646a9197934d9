#include <fmt/format.h>

#include <utility>

#include "schema/fields.h"

namespace vergeset::schema {

namespace {

/// Below the root of its file, or whole.
smi::Oid read_place(const Entry& body, const Draft& draft) {
  const Entry absolute = body.at("absolute");
  if (!absolute) return read_oid_below(body.need("oid"), draft.root);
  if (const Entry oid = body.at("oid")) oid.fault("`oid:` and `absolute:` exclude each other; keep one");
  return read_whole_oid(absolute, draft.root);
}

void read_told(const Entry& key, const Entry& body, Draft& draft) {
  if (!body.is_map()) {
    key.fault("a variable is a map: {absolute: ..., syntax: ...}");
    return;
  }
  body.only({"oid", "absolute", "syntax"});
  const smi::Oid oid = read_place(body, draft);
  const Entry entry = body.need("syntax");
  const std::string text = entry.text("a syntax in the notation of RFC 2578");
  if (!entry.is_text()) return;
  auto syntax = smi::Syntax::parse(text);
  if (!syntax) {
    entry.fault(syntax.problem());
  } else if (!oid.empty()) {
    draft.model->told[oid] = {key.text("a name"), *std::move(syntax)};
  }
}

}  // namespace

void read_notifications(const Entry& map, Draft& draft) {
  for (const auto& [key, body] : map.pairs("a map of notifications")) {
    if (!body.is_map()) {
      key.fault("a notification is a map: {oid: ..., about: ...}");
      continue;
    }
    body.only({"oid", "absolute", "about", "objects"});
    Notification notification{key.text("a name"), {}};
    if (const Entry about = body.at("about"))
      notification.about = about.text("what it tells, in a few words");
    const smi::Oid oid = read_place(body, draft);
    for (const auto& [name, told] : body.at("objects").pairs("a map of variables"))
      read_told(name, told, draft);
    if (!oid.empty()) draft.model->notifications[oid] = std::move(notification);
  }
}

}  // namespace vergeset::schema
