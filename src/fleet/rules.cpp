#include "fleet/rules.h"

#include <algorithm>
#include <array>
#include <stdexcept>

#include "smi/suggest.h"

namespace vergeset::fleet {

namespace {

constexpr std::array<std::string_view, 4> severity_names{"ignore", "notice", "warning", "error"};
constexpr std::string_view practice = "common practice";

const Rule* find_rule(std::string_view name) {
  const auto found = std::ranges::find_if(rules(), [&](const Rule& rule) { return rule.name == name; });
  return found == rules().end() ? nullptr : &*found;
}

void read_severity(const schema::Entry& key, const schema::Entry& value, Severities& severities) {
  const std::string name = key.text("the name of a rule");
  const std::string word = value.text("a severity: ignore, notice, warning or error");
  if (!key.is_text() || !value.is_text()) return;
  if (find_rule(name) == nullptr) {
    std::vector<std::string> known;
    for (const Rule& rule : rules()) known.emplace_back(rule.name);
    key.fault("no rule is called " + name + smi::suggestion(name, known) +
              "; vergeset check --rules lists them");
    return;
  }
  const auto severity = severity_named(word);
  if (!severity) {
    value.fault("expected a severity: ignore, notice, warning or error; found " + word);
    return;
  }
  severities.set(name, *severity);
}

}  // namespace

std::string_view severity_name(Severity severity) {
  return severity_names.at(static_cast<std::size_t>(severity));
}

std::optional<Severity> severity_named(std::string_view name) {
  const auto* const found = std::ranges::find(severity_names, name);
  if (found == severity_names.end()) return std::nullopt;
  return static_cast<Severity>(found - severity_names.begin());
}

const std::vector<Rule>& rules() {
  using enum Severity;
  static const std::vector<Rule> all{
      // Site records.
      {"cable-run", warning, "an Ethernet run longer than limit cable-run", "IEEE 802.3, TIA-568"},
      {"cable-outdoors", warning, "an outdoor run on cable that is not made for it", practice},
      {"surge-protector", warning, "a unit without surge protector", practice},
      {"bond", warning, "a unit whose bond to earth is missing or not as good as limit bond", practice},
      {"earth", warning, "an earth resistance above limit earth", practice},
      {"supply-voltage", warning, "a voltage outside limits supply-low and supply-high",
       "RSU 4.1 requirement 278, IEEE 802.3at"},
      {"not-recorded", notice, "a site record that lacks what an acceptance sheet asks for", practice},
      {"same-unit-id", error, "two units that are to have one id (rsuID)", practice},
      {"same-serial", warning, "two units with one serial number", practice},
      {"same-mac", error, "two units with one hardware address", "IEEE 802"},
      {"same-position", warning, "two units surveyed at one place, closer than limit apart", practice},
      {"subnet", error, "an address that is not a host's in the subnet of its site record",
       "RFC 950, RFC 4291"},
      {"gateway", error, "an address that is its gateway's, or a gateway outside the subnet", "RFC 950"},
      {"antenna-gain", warning, "transmit power that is set where no antenna's gain is recorded", practice},
      {"transmit-power", error, "transmit power above limit transmit-power, which the licence allows",
       "the fleet's licence"},
      {"transmit-power-unknown", notice, "transmit power that cannot be held against the licence",
       "the RSU standards"},

      // A person's answers at the pole.
      {"pole-check", warning, "a check at the pole that does not hold", practice},

      // Messages, as the files have them.
      {"payload-truncated", error, "a payload that ends before its message does", "SAE J2735, ITU-T X.691"},
      {"payload-trailing", warning, "a payload with octets behind its message", "SAE J2735, ITU-T X.691"},
      {"payload-too-long", error, "a payload of more octets than may be sent", "IEEE 1609.3"},
      {"payload-malformed", error, "a payload with a value that its standard does not have",
       "SAE J2735, ITU-T X.691"},
      {"message-psid", error, "a PSID that its message does not belong to", "IEEE 1609.12, from memory"},
      {"message-place", error, "a MAP of a place further from the site than limit message-place",
       "SAE J2735 refPoint"},
      {"same-intersection", error, "one intersection id in the MAPs of two sites",
       "SAE J2735 IntersectionReferenceID"},
      {"delivery-order", error, "a message that is to end before it begins",
       "the RSU standards, delivery start and stop"},
      {"delivery-over", warning, "a message whose time to be sent is over",
       "the RSU standards, delivery start and stop"},
      {"delivery-ends", notice, "a message that is sent no longer than limit delivery-ends",
       "the RSU standards, delivery start and stop"},
      {"message-over", warning, "traveller information that no longer holds and is sent all the same",
       "SAE J2735 startTime, duratonTime"},
      {"message-outlives", warning, "traveller information that holds when it is sent no longer",
       "SAE J2735 startTime, duratonTime"},
      {"message-for-ever", notice, "traveller information that holds until told otherwise, sent for a time",
       "SAE J2735 duratonTime"},
      {"revision-back", error, "a MAP whose revision is before that of the one the unit carries",
       "SAE J2735 MsgCount"},
      {"revision-same", warning, "another MAP under the revision of the one the unit carries",
       "SAE J2735 MsgCount"},
      {"channel-load", warning, "a channel that is loaded above limit channel-load",
       "IEEE 802.11-2016 clause 17"},
      {"channel-without-radio", warning, "a channel that is sent on and that no radio is on", practice},

      // Health, as a unit tells it.
      {"firmware", error, "firmware that the fleet's list does not approve", "fleet.yaml, firmware"},
      {"off-air", error, "a unit that is asked to operate and does not", "the RSU standards, rsuMode"},
      {"unit-status", warning, "a unit that does not call its own status okay",
       "the RSU standards, rsuStatus"},
      {"satellites", warning, "fewer satellites than limit satellites",
       "the V2I test specification's GPGGA check"},
      {"service-status", warning, "a service of a unit that does not call its status okay",
       "the RSU standards, rsuServiceStatus"},
      {"clock-source", warning, "a clock that goes by neither GNSS nor NTP, or whose source is not active",
       practice},
      {"temperature", warning,
       "a temperature outside limits temperature-low and temperature-high, or the unit's own",
       "RSU 4.1 and NEMA TS 2; the unit's thresholds"},
      {"enrolment", warning, "a unit that is not enrolled for certificates",
       "NTCIP 1218 rsuSecEnrollCertStatus"},
      {"certificate-over", error, "no valid certificate", "NTCIP 1218 rsuSec objects"},
      {"certificate-ends", warning, "a certificate that ends within limit enrolment-left or certificate-left",
       "NTCIP 1218 rsuSec objects"},
      {"restarted", notice, "a unit that started anew since the last audit", "rsuTimeSincePowerOn"},
      {"restarts", warning, "a unit that started anew limit restarts times within limit restarts-within",
       "rsuTimeSincePowerOn"},
      {"messages-sent", warning, "messages on air that counters do not see: fewer than limit messages-sent",
       "the RSU standards' counters of messages"},

      // Position.
      {"swapped", error, "units that find themselves on each other's surveyed positions", practice},
      {"other-site", error, "a unit that finds itself on the surveyed position of another", practice},
      {"position-off", warning, "a unit further than limit position-off from its survey or its own reference",
       "the RSU standards, rsuGnss and rsuGps objects"},
      {"reference-off", warning,
       "a unit's reference position further than limit reference-off from its survey",
       "the RSU standards, reference position"},
      {"height-off", notice,
       "a unit more than limit height-off above or below its survey or its own reference",
       "the RSU standards, rsuGnss and rsuGps objects"},
      {"position-unknown", notice,
       "a position that a unit does not know, or no better than limit position-error",
       "the RSU standards, rsuGnss and rsuGps objects"},
  };
  return all;
}

const Rule& rule_named(std::string_view name) {
  const Rule* found = find_rule(name);
  if (found == nullptr) throw std::logic_error("no rule is called " + std::string(name));
  return *found;
}

Severity Severities::of(std::string_view rule) const {
  const auto own = own_.find(rule);
  return own != own_.end() ? own->second : rule_named(rule).usual;
}

Severities read_severities(const schema::Entry& entry) {
  Severities severities;
  for (const auto& [key, value] : entry.pairs("rules and their severities, such as {bond: error}")) {
    read_severity(key, value, severities);
  }
  return severities;
}

}  // namespace vergeset::fleet
