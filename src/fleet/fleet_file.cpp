#include "fleet/fleet_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "fleet/credential.h"
#include "fleet/wave.h"
#include "fleet/window.h"
#include "smi/quantity.h"
#include "smi/suggest.h"

namespace vergeset::fleet {

namespace {

/// A quantity under `key`, counted in `unit`; it must carry a unit of its own.
std::optional<long long> read_quantity(const schema::Entry& root, const std::string& key,
                                       const std::string& unit, long long low, long long high,
                                       const std::string& example) {
  const schema::Entry entry = root.at(key);
  if (!entry) return std::nullopt;
  const std::string text = entry.text(example);
  if (!entry.is_text()) return std::nullopt;
  const auto quantity = smi::Quantity::parse(text);
  if (!quantity || quantity->unit.empty()) {
    entry.fault(key + " needs a number and a unit, as in " + example + "; found " + text);
    return std::nullopt;
  }
  const auto number = smi::in_unit(*quantity, unit);
  if (!number) {
    entry.fault(key + ": " + number.problem());
    return std::nullopt;
  }
  if (*number < low || *number > high) {
    entry.fault(fmt::format("expected {} to {} for {}, found {}", smi::with_unit(low, unit),
                            smi::with_unit(high, unit), key, text));
    return std::nullopt;
  }
  return *number;
}

void read_timezone(const schema::Entry& root, Fleet& fleet) {
  const schema::Entry entry = root.at("timezone");
  if (!entry) return;
  fleet.timezone = entry.text("a time zone as in Europe/Berlin");
  const std::filesystem::path zones = "/usr/share/zoneinfo";
  constexpr std::string_view letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_+-/";
  const bool shaped = !fleet.timezone.empty() && fleet.timezone.size() < 64 &&
                      fleet.timezone.find_first_not_of(letters) == std::string::npos &&
                      fleet.timezone.front() != '/';
  std::error_code error;
  const bool known = shaped && (!std::filesystem::is_directory(zones, error) ||
                                std::filesystem::is_regular_file(zones / fleet.timezone, error));
  if (entry.is_text() && !known) {
    entry.fault("expected a time zone by its IANA name, as in Etc/UTC or Europe/Berlin, found " +
                fleet.timezone);
  }
}

void read_waves(const schema::Entry& root, Fleet& fleet) {
  const schema::Entry list = root.at("waves");
  for (const schema::Entry& member : list.members("a list of sizes such as [1, 10%, rest]")) {
    const std::string text = member.text("a number of units, a share as in 10%, or rest");
    if (!member.is_text()) continue;
    const auto wave = parse_wave(text);
    if (!wave) {
      member.fault(wave.problem());
      continue;
    }
    if (!fleet.waves.empty() && fleet.waves.back().kind == Wave::Kind::rest) {
      member.fault("nothing is left behind rest; put rest last, found " + text + " after it");
      continue;
    }
    fleet.waves.push_back(*wave);
  }
  if (!fleet.waves.empty() && fleet.waves.back().kind != Wave::Kind::rest) {
    list.fault("waves end with rest, so that no unit is forgotten; add it");
  }
}

void read_window(const schema::Entry& root, Fleet& fleet) {
  for (const schema::Entry& member :
       root.at("window").members("a list of hours such as [Mon-Fri 22:00-05:00]")) {
    const std::string text = member.text("days and hours as in Mon-Fri 22:00-05:00");
    if (!member.is_text()) continue;
    const auto spans = parse_spans(text);
    if (!spans) {
      member.fault(spans.problem());
      continue;
    }
    fleet.window.spans.insert(fleet.window.spans.end(), spans->begin(), spans->end());
    fleet.window.text += (fleet.window.text.empty() ? "" : ", ") + text;
  }
}

void read_limits(const schema::Entry& root, Fleet& fleet) {
  if (const schema::Entry entry = root.at("failures-allowed")) {
    fleet.failures_allowed = static_cast<int>(entry.number("a number of units", 0, 100000).value_or(0));
  }
  if (const schema::Entry entry = root.at("require-second-person")) {
    fleet.require_second_person = entry.yes_no("whether another has to approve changes").value_or(true);
  }
  if (const schema::Entry entry = root.at("retries")) {
    fleet.retries = static_cast<int>(entry.number("a number of retries", 0, 20).value_or(3));
  }
  fleet.mode_wait_s = static_cast<int>(read_quantity(root, "mode-wait", "s", 1, 3600, "60 s").value_or(60));
  fleet.timeout_ms =
      static_cast<int>(read_quantity(root, "timeout", "ms", 50, 60000, "1500 ms").value_or(1500));
  const auto within = read_quantity(root, "position-within", "cm", 100, 100000000, "500 m");
  if (within) fleet.position_within_m = static_cast<double>(*within) / 100;
}

std::vector<std::string> names_of(const std::map<std::string, Credential>& credentials) {
  std::vector<std::string> names;
  for (const auto& [name, credential] : credentials) names.push_back(name);
  return names;
}

std::string read_default_credential(const schema::Entry& root, const Fleet& fleet) {
  const schema::Entry entry = root.at("credential");
  if (!entry) return fleet.credentials.size() == 1 ? fleet.credentials.begin()->first : "";
  std::string name = entry.text("the name of a credential");
  if (!entry.is_text() || fleet.credentials.count(name) != 0) return name;
  const std::vector<std::string> known = names_of(fleet.credentials);
  entry.fault("no credential is called " + name + smi::suggestion(name, known));
  return known.empty() ? "" : known.front();
}

/// Where the key stands, its list is instead of the usual two; [] for none.
void read_factory_communities(const schema::Entry& root, Fleet& fleet) {
  const schema::Entry list = root.at("factory-communities");
  if (!list) return;
  fleet.factory_communities.clear();
  for (const schema::Entry& member : list.members("a list of communities such as [public, private], or []")) {
    std::string community = member.text("a community");
    if (member.is_text() && !community.empty()) fleet.factory_communities.push_back(std::move(community));
  }
}

void read_factory_credentials(const schema::Entry& root, Fleet& fleet) {
  const schema::Entry list = root.at("factory-credentials");
  for (const schema::Entry& member : list.members("a list of credentials such as [factory, factory-2]")) {
    const std::string name = member.text("the name of a credential");
    if (!member.is_text()) continue;
    const auto found = fleet.credentials.find(name);
    if (found == fleet.credentials.end()) {
      member.fault("no credential is called " + name + smi::suggestion(name, names_of(fleet.credentials)));
    } else if (found->second.stored) {
      member.fault("the keys of credential " + name +
                   " are made by vergeset; no unit has them from the factory");
    } else if (std::find(fleet.factory_credentials.begin(), fleet.factory_credentials.end(), name) !=
               fleet.factory_credentials.end()) {
      member.fault("credential " + name + " stands here twice");
    } else {
      fleet.factory_credentials.push_back(name);
    }
  }
}

/// `key-store:`, without which no keys can be stored.
void read_stored_keys(const schema::Entry& root, Fleet& fleet) {
  fleet.key_store = read_key_store(root.at("key-store"));
  if (root.at("key-store")) return;
  for (const auto& [name, credential] : fleet.credentials) {
    if (credential.stored) {
      root.faults().add(credential.place, "credential " + name +
                                              " has its keys in the key store, and the fleet has none; add "
                                              "key-store: {file: keys/FLEET.keys}");
    }
  }
}

/// `firmware:`, the approved versions of each model.
void read_firmware(const schema::Entry& entry, Fleet& fleet) {
  for (const auto& [key, list] :
       entry.pairs("models and their approved versions, such as {rsu-4.1: [4.2.0]}")) {
    const std::string model = key.text("the name of a model");
    if (!key.is_text()) continue;
    if (fleet.schema != nullptr && fleet.schema->models.count(model) == 0) {
      std::vector<std::string> known;
      for (const auto& [name, one] : fleet.schema->models) known.push_back(name);
      key.fault("no model is called " + model + smi::suggestion(model, known));
      continue;
    }
    for (const schema::Entry& member : list.members("a list of versions such as [4.2.0, 4.2.1]")) {
      std::string version = member.text("a version, as the unit tells it");
      if (member.is_text() && !version.empty()) fleet.firmware[model].push_back(std::move(version));
    }
  }
}

}  // namespace

FleetFile read_fleet_file(const schema::Entry& root, Fleet& fleet) {
  root.only(layer_keys({"fleet", "timezone", "credentials", "credential", "factory-credentials",
                        "factory-communities", "key-store", "port", "waves", "failures-allowed", "window",
                        "mode-wait", "timeout", "retries", "position-within", "require-second-person",
                        "limits", "severities", "firmware", "keep"}));
  FleetFile file;
  if (!root.is_map() && !root.is_nothing()) {
    root.pairs("a map with fleet:, credentials: and more");
    return file;
  }
  if (const schema::Entry name = root.need("fleet")) fleet.name = name.text("the fleet's name");
  read_timezone(root, fleet);
  const schema::Entry credentials = root.at("credentials");
  fleet.credentials = read_credentials(credentials);
  const bool none = credentials.is_nothing() || (credentials.is_map() && fleet.credentials.empty());
  if (none && !root.blamed()) {
    root.fault("this fleet names no credential; write one under credentials:");
  }
  file.credential = read_default_credential(root, fleet);
  read_factory_credentials(root, fleet);
  read_factory_communities(root, fleet);
  read_stored_keys(root, fleet);
  if (const schema::Entry port = root.at("port")) {
    file.port = static_cast<std::uint16_t>(port.number("a port", 1, 65535).value_or(161));
  }
  read_waves(root, fleet);
  read_window(root, fleet);
  read_limits(root, fleet);
  fleet.limits = read_fleet_limits(root.at("limits"));
  fleet.severities = read_severities(root.at("severities"));
  read_firmware(root.at("firmware"), fleet);
  fleet.keep = read_keep(root.at("keep"));
  file.layer = read_layer(root, "fleet");
  return file;
}

}  // namespace vergeset::fleet
