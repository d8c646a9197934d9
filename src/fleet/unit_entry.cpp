#include "fleet/unit_entry.h"

#include <algorithm>
#include <charconv>

#include "fleet/address.h"
#include "fleet/credential.h"
#include "fleet/names.h"
#include "fleet/site.h"
#include "smi/suggest.h"
#include "smi/value.h"

namespace vergeset::fleet {

namespace {

template <class Map>
std::vector<std::string> keys(const Map& map) {
  std::vector<std::string> names;
  for (const auto& [name, what] : map) names.push_back(name);
  return names;
}

std::uint16_t port_of(const UnitEntry& entry, std::uint16_t fallback, Faults& faults) {
  if (!entry.port) return fallback;
  const std::string& text = entry.port->text;
  int port = 0;
  const char* const last = text.data() + text.size();
  const auto [end, error] = std::from_chars(text.data(), last, port);
  if (error == std::errc() && end == last && port >= 1 && port <= 65535) {
    return static_cast<std::uint16_t>(port);
  }
  faults.add(entry.port->place, "expected a port 1 to 65535, found " + text);
  return fallback;
}

std::string checked_host(const UnitEntry& entry, Faults& faults) {
  if (!entry.address) {
    faults.add(entry.place, "unit " + entry.name + " has no address");
    return "";
  }
  const auto host = host_of(entry.address->text);
  if (host) return *host;
  faults.add(entry.address->place, host.problem());
  return "";
}

const schema::Model* model_of(const UnitEntry& entry, const schema::Schema& schema, Faults& faults) {
  if (!entry.model) {
    std::string list;
    for (const std::string& name : keys(schema.models)) list += (list.empty() ? "" : ", ") + name;
    faults.add(entry.place, "unit " + entry.name + " has no model; known are " + list);
    return nullptr;
  }
  const schema::Model* const model = schema.model(entry.model->text);
  if (model == nullptr) {
    faults.add(entry.model->place, "no model is called " + entry.model->text +
                                       smi::suggestion(entry.model->text, keys(schema.models)));
  }
  return model;
}

std::string credential_of(const UnitEntry& entry, const Fleet& fleet, const FleetFile& file, Faults& faults) {
  // A fleet without any credential is told once, not once a unit.
  if (!entry.credential) {
    if (file.credential.empty() && !fleet.credentials.empty()) {
      faults.add(entry.place, "unit " + entry.name +
                                  " has no credential, and the fleet no default; name one under "
                                  "credential: in fleet.yaml");
    }
    return file.credential;
  }
  const std::string& name = entry.credential->text;
  if (!fleet.credentials.empty() && fleet.credentials.count(name) == 0) {
    faults.add(entry.credential->place,
               "no credential is called " + name + smi::suggestion(name, keys(fleet.credentials)));
  }
  return name;
}

/// An engine id is 5 to 32 octets, not all 0x00 nor all 0xff (RFC 3411, SnmpEngineID).
std::string engine_id_of(const UnitEntry& entry, Faults& faults) {
  if (!entry.engine_id) return "";
  std::string text = entry.engine_id->text;
  if (text.rfind("0x", 0) == 0) text.erase(0, 2);
  const auto octets = smi::from_hex(text);
  const bool sized = octets && octets->size() >= 5 && octets->size() <= 32;
  if (sized && octets->find_first_not_of('\0') != std::string::npos &&
      octets->find_first_not_of('\xff') != std::string::npos) {
    return smi::to_hex(*octets);
  }
  faults.add(entry.engine_id->place, "expected an engine id, 5 to 32 octets as hex, found " + text);
  return "";
}

/// The credential that the unit is spoken to with, where it is by certificate.
const Certificate* certificate_of(const Unit& unit, const Fleet& fleet) {
  const auto found = fleet.credentials.find(unit.credential);
  if (found == fleet.credentials.end() || found->second.kind != Credential::Kind::certificate) return nullptr;
  return &found->second.certificate;
}

/// The port of a unit that states none: the fleet's, or that of SNMP (RFC 3417) or of SNMP over TLS (RFC
/// 6353).
std::uint16_t usual_port(const Certificate* certificate, const FleetFile& file) {
  return file.port.value_or(certificate == nullptr ? 161 : 10161);
}

std::string fingerprint_of(const UnitEntry& entry, const Unit& unit, const Certificate* certificate,
                           Faults& faults) {
  if (!entry.fingerprint) {
    if (certificate != nullptr && certificate->trust.empty() && certificate->fingerprint.empty()) {
      faults.add(entry.place, "nothing says which certificate unit " + entry.name +
                                  " has; write fingerprint: here, or trust: under credential " +
                                  unit.credential);
    }
    return "";
  }
  const Written& written = *entry.fingerprint;
  const auto fingerprint = parse_fingerprint(written.text);
  if (!fingerprint) {
    faults.add(
        written.place,
        "expected a fingerprint as in sha256:1f:0a:..., 64 hex digits behind sha256:, found " + written.text);
    return "";
  }
  if (certificate == nullptr && !unit.credential.empty()) {
    faults.add(written.place, "unit " + entry.name + " is not spoken to by certificate: credential " +
                                  unit.credential + " has no transport: tls or dtls");
  }
  return *fingerprint;
}

bool names_twice(const SharedList<std::vector<std::string>>& levels, const std::vector<std::string>& level,
                 const std::string& group) {
  const auto holds = [&](const std::vector<std::string>& one) {
    return std::find(one.begin(), one.end(), group) != one.end();
  };
  return holds(level) || std::any_of(levels.begin(), levels.end(), holds);
}

SharedList<std::vector<std::string>> groups_of(const UnitEntry& entry, const Fleet& fleet, Faults& faults) {
  SharedList<std::vector<std::string>> levels;
  for (const auto& written : entry.groups) {
    std::vector<std::string> level;
    for (const Written& group : written) {
      if (fleet.groups.count(group.text) == 0) {
        faults.add(group.place,
                   "no group is called " + group.text +
                       hint(group.text, keys(fleet.groups), "a group is a file groups/NAME.yaml"));
      } else if (names_twice(levels, level, group.text)) {
        faults.add(group.place, "unit " + entry.name + " names group " + group.text + " twice");
      } else {
        level.push_back(group.text);
      }
    }
    if (!level.empty()) levels.push_back(std::move(level));
  }
  return levels;
}

}  // namespace

std::optional<Unit> make_unit(const UnitEntry& entry, const Fleet& fleet, const FleetFile& file,
                              Faults& faults) {
  Unit unit;
  unit.name = entry.name;
  unit.place = entry.place;
  if (!plain_name(entry.name)) {
    faults.add(entry.place,
               "a unit's name has up to 64 letters, digits, - _ and . (it becomes a file's name), and begins "
               "with a letter, digit or _; found " +
                   entry.name);
  }
  unit.host = checked_host(entry, faults);
  unit.model = model_of(entry, *fleet.schema, faults);
  unit.credential = credential_of(entry, fleet, file, faults);
  const Certificate* const certificate = certificate_of(unit, fleet);
  unit.port = port_of(entry, usual_port(certificate, file), faults);
  unit.engine_id = engine_id_of(entry, faults);
  unit.fingerprint = fingerprint_of(entry, unit, certificate, faults);
  unit.groups = groups_of(entry, fleet, faults);
  for (const Written& field : entry.site) add_site_field(unit.site, field, faults);
  unit.site.fields.shrink();
  if (unit.model == nullptr) return std::nullopt;
  return unit;
}

}  // namespace vergeset::fleet
