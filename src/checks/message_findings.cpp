#include "checks/message_findings.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "checks/channel_load.h"
#include "checks/geodesic.h"
#include "checks/message.h"
#include "checks/message_psids.h"
#include "checks/message_rows.h"
#include "checks/message_times.h"

namespace vergeset::checks {

namespace {

std::optional<double> metres_from(const fleet::Site& site, double latitude, double longitude) {
  if (!site.latitude || !site.longitude) return std::nullopt;
  return metres_between({*site.latitude, *site.longitude}, {latitude, longitude});
}

/// "83 m", "1.24 km".
std::string distance_text(double metres) {
  return metres < 1000 ? fmt::format("{:.0f} m", metres) : fmt::format("{:.2f} km", metres / 1000);
}

std::string intersection_text(const j2735::Intersection& at) {
  std::string text = fmt::format("intersection {}", at.id.id);
  if (at.id.region) text += fmt::format(" of region {}", *at.id.region);
  return at.name.empty() ? text : text + " \"" + at.name + "\"";
}

void judge_octets(const MessageRow& row, const j2735::Message& message, Findings& findings) {
  constexpr std::string_view rules[] = {"payload-truncated", "payload-trailing", "payload-too-long",
                                        "payload-malformed"};
  for (const j2735::Flaw& flaw : message.flaws) {
    findings.add(rules[static_cast<std::size_t>(flaw.kind)],
                 fmt::format("{}: payload: {}", row.name, flaw.text), row.place());
  }
}

void judge_psid(const MessageRow& row, const j2735::Message* message, Findings& findings) {
  const auto kind = message != nullptr && message->id ? message->id : row.message;
  if (!row.psid || !kind || psid_fits(*row.psid, *kind)) return;
  findings.add("message-psid",
               fmt::format("{}: a {} is sent under PSID {:#x}; it belongs to {}", row.name,
                           j2735::message_kind_name(*kind), *row.psid, psids_text(*kind)),
               row.place_of("psid"));
}

void judge_place(const fleet::Unit& unit, const MessageRow& row, const j2735::Map& map,
                 const fleet::Limits& limits, Findings& findings) {
  for (const j2735::Intersection& at : map.intersections) {
    if (!at.position.known()) {
      findings.add("message-place",
                   fmt::format("{}: {} has no reference point", row.name, intersection_text(at)),
                   row.place());
      continue;
    }
    const auto away = metres_from(unit.site, static_cast<double>(at.position.latitude) / 1e7,
                                  static_cast<double>(at.position.longitude) / 1e7);
    if (!away || *away <= limits.message_place_m) continue;
    findings.add(
        "message-place",
        fmt::format("{}: {} is {} from the unit's site; {} are allowed", row.name, intersection_text(at),
                    distance_text(*away), distance_text(limits.message_place_m)),
        row.place());
  }
}

/// Who sends which intersection, in the fleet's order. Payloads are read again for each unit: reading one
/// takes microseconds, and keeping ten thousand a hundred megabytes.
class Intersections {
 public:
  explicit Intersections(const fleet::Fleet& fleet) {
    for (const fleet::Unit& unit : fleet.units) {
      std::set<j2735::Reference> own;
      for (const MessageRow& row : message_rows(unit)) {
        if (row.payload == nullptr) continue;
        const j2735::Message message = j2735::read_message(row.payload->value.octets);
        if (message.map() == nullptr) continue;
        for (const j2735::Intersection& at : message.map()->intersections) own.insert(at.id);
      }
      for (const j2735::Reference& id : own) senders_[id].push_back(&unit);
    }
  }

  /// Two units of one place may well send one MAP; units further apart than a MAP may be from its site, or of
  /// which it is not known, may not.
  void judge(const fleet::Unit& unit, const MessageRow& row, const j2735::Map& map,
             const fleet::Limits& limits, Findings& findings) const {
    for (const j2735::Intersection& at : map.intersections) {
      const auto senders = senders_.find(at.id);
      if (senders == senders_.end()) continue;
      std::vector<std::string> others;
      for (const fleet::Unit* other : senders->second) {
        if (other == &unit) continue;
        const auto apart = other->site.latitude && other->site.longitude
                               ? metres_from(unit.site, *other->site.latitude, *other->site.longitude)
                               : std::nullopt;
        if (apart && *apart <= limits.message_place_m) continue;
        others.push_back(other->name + (apart ? ", " + distance_text(*apart) + " away" : ""));
      }
      if (!others.empty()) tell(row, at, others, findings);
    }
  }

 private:
  static void tell(const MessageRow& row, const j2735::Intersection& at,
                   const std::vector<std::string>& others, Findings& findings) {
    const std::string more = others.size() > 1 ? fmt::format(" and by {} more", others.size() - 1) : "";
    findings.add(
        "same-intersection",
        fmt::format("{}: {} is sent by {} too{}", row.name, intersection_text(at), others.front(), more),
        row.place());
  }

  std::map<j2735::Reference, std::vector<const fleet::Unit*>> senders_;
};

void judge_message(const fleet::Fleet& fleet, const fleet::Unit& unit, const MessageRow& row,
                   const j2735::Message& message, const Intersections& intersections, Findings& findings) {
  judge_octets(row, message, findings);
  if (const j2735::Map* const map = message.map()) {
    judge_place(unit, row, *map, fleet.limits, findings);
    intersections.judge(unit, row, *map, fleet.limits, findings);
  }
}

}  // namespace

std::vector<UnitFindings> message_findings(const fleet::Fleet& fleet,
                                           const std::vector<const fleet::Unit*>& units,
                                           std::chrono::sys_seconds now) {
  const Intersections intersections(fleet);
  std::vector<UnitFindings> all;
  for (const fleet::Unit* unit : units) {
    Findings findings(fleet.severities);
    for (const MessageRow& row : message_rows(*unit)) {
      const auto message = row.payload != nullptr
                               ? std::optional(j2735::read_message(row.payload->value.octets))
                               : std::nullopt;
      const j2735::Message* const read = message ? &*message : nullptr;
      judge_psid(row, read, findings);
      if (message) judge_message(fleet, *unit, row, *message, intersections, findings);
      if (row.enabled) judge_times(row, read, fleet.limits, now, findings);
    }
    judge_channel_load(*unit, fleet.limits, findings);
    if (auto found = findings.take(); !found.empty()) all.push_back({unit, std::move(found)});
  }
  return all;
}

std::vector<UnitFindings> message_findings(const fleet::Fleet& fleet, std::chrono::sys_seconds now) {
  std::vector<const fleet::Unit*> units;
  for (const fleet::Unit& unit : fleet.units) units.push_back(&unit);
  return message_findings(fleet, units, now);
}

void judge_revision(std::string_view desired, std::string_view found, const std::string& row,
                    const Place& place, Findings& findings) {
  const j2735::Message wanted = j2735::read_message(desired);
  const j2735::Message carried = j2735::read_message(found);
  if (wanted.map() == nullptr || carried.map() == nullptr) return;
  constexpr int revisions = 128;
  for (const j2735::Intersection& at : wanted.map()->intersections) {
    const auto& before = carried.map()->intersections;
    const auto same = std::ranges::find(before, at.id, &j2735::Intersection::id);
    if (same == before.end() || *same == at) continue;
    const int ahead = (at.revision - same->revision + revisions) % revisions;
    const std::string what = row + ": " + intersection_text(at);
    if (ahead == 0) {
      findings.add("revision-same",
                   fmt::format("{} is another than the unit's, and both have revision {}", what, at.revision),
                   place);
    } else if (ahead > revisions / 2) {
      findings.add("revision-back",
                   fmt::format("{} has revision {}, and the unit carries {}: vehicles keep the later one",
                               what, at.revision, same->revision),
                   place);
    }
  }
}

}  // namespace vergeset::checks
