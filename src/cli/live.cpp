#include "cli/live.h"

#include <fmt/format.h>

#include <algorithm>

#include "change/rekey.h"
#include "cli/interrupt.h"
#include "cli/key_place.h"
#include "cli/load.h"
#include "cli/print.h"
#include "fleet/secret_source.h"
#include "records/lock.h"
#include "records/private_folder.h"
#include "report/words.h"

namespace vergeset::cli {

namespace {

Result<Secret> secret_of(const fleet::Fleet& fleet, const char* which, const fleet::SecretSource& source) {
  if (source.kind == fleet::SecretSource::Kind::none) return Secret();
  auto secret = fleet::read_secret(source, fleet.folder);
  if (!secret) return Problem{fmt::format("{}: {}", which, secret.problem())};
  return secret;
}

snmp::PrincipalOr user_of(const fleet::Fleet& fleet, const fleet::Credential& credential) {
  if (credential.stored) return Problem{"its keys are each unit's own, in the fleet's key store"};
  const auto auth = secret_of(fleet, "auth-secret", credential.auth_secret);
  if (!auth) return Problem{auth.problem()};
  const auto privacy = secret_of(fleet, "privacy-secret", credential.privacy_secret);
  if (!privacy) return Problem{privacy.problem()};
  return snmp::usm_principal(credential.user, credential.auth, *auth, credential.privacy, *privacy);
}

snmp::PrincipalOr community_of(const fleet::Fleet& fleet, const fleet::Credential& credential) {
  const auto community = secret_of(fleet, "community", credential.community);
  if (!community) return Problem{community.problem()};
  return snmp::community_principal(credential.version, *community);
}

/// A file beside fleet.yaml whose content is no secret.
Result<std::string> text_of(const fleet::Fleet& fleet, const std::string& path) {
  return read_file(path.rfind('/', 0) == 0 ? path : fleet.folder + "/" + path);
}

snmp::PrincipalOr holder_of(const fleet::Fleet& fleet, const fleet::Certificate& certificate) {
  snmp::CertificateText text;
  text.datagrams = certificate.datagrams;
  text.fingerprint = certificate.fingerprint;
  text.old_versions = certificate.old_versions;
  auto ours = text_of(fleet, certificate.file);
  if (!ours) return Problem{ours.problem()};
  text.certificate = *std::move(ours);
  if (!certificate.trust.empty()) {
    auto trust = text_of(fleet, certificate.trust);
    if (!trust) return Problem{trust.problem()};
    text.trust = *std::move(trust);
  }
  auto key = fleet::read_secret_lines(certificate.key, fleet.folder);
  if (!key) return Problem{key.problem()};
  text.key = *std::move(key);
  return snmp::certificate_principal(text);
}

snmp::PrincipalOr made_of(const fleet::Fleet& fleet, const fleet::Credential& credential) {
  switch (credential.kind) {
    case fleet::Credential::Kind::community:
      return community_of(fleet, credential);
    case fleet::Credential::Kind::certificate:
      return holder_of(fleet, credential.certificate);
    case fleet::Credential::Kind::user:
      break;
  }
  return user_of(fleet, credential);
}

/// The keys of all units whose credential says that they are stored.
std::optional<Problem> take_stored(const fleet::Fleet& fleet, const std::vector<const fleet::Unit*>& units,
                                   Live& live) {
  const auto place = key_place(fleet);
  if (!place) return Problem{place.problem()};
  const auto store = open_keys(fleet, **place);
  if (!store) return Problem{store.problem()};
  for (const fleet::Unit* unit : units) {
    const auto keys = store->current(unit->name, unit->credential);
    if (!keys) continue;
    auto way = change::way_of(*keys);
    if (!way) return Problem{way.problem()};
    live.stored[unit->name] = way->principal;
  }
  return std::nullopt;
}

}  // namespace

snmp::PrincipalOr principal_of(const fleet::Fleet& fleet, const fleet::Credential& credential) {
  auto made = made_of(fleet, credential);
  if (!made) return Problem{fmt::format("credential {}, {}", credential.name, made.problem())};
  return made;
}

Live::Live(const fleet::Fleet& fleet, const std::string& records)
    : disk(records),
      engines(records::Engines::read(disk)),
      known(records::KnownUnits::read(disk)),
      world{network,
            disk,
            clock,
            fleet,
            [this](const fleet::Unit& unit) {
              const auto found = principals.find(unit.credential);
              if (found != principals.end()) return found->second;
              const auto own = stored.find(unit.name);
              return own == stored.end() ? nullptr : own->second;
            },
            &engines,
            nullptr,
            {},
            &known} {}

Live::~Live() {
  try {
    known.keep(disk);
    engines.keep(disk);
  } catch (const records::DiskError&) {
    // What must be on record has been written, or its writer has failed, before.
  }
}

Watching::Watching(Live& live, std::size_t units, const Pace& pace) : live_(live), line_(units, pace.quiet) {
  live_.world.progress = &line_;
  live_.network.tick([this] { line_.tick(); });
}

Watching::~Watching() {
  live_.world.progress = nullptr;
  live_.network.tick({});
}

Result<std::unique_ptr<Live>> go_live(const fleet::Fleet& fleet, const std::vector<const fleet::Unit*>& units,
                                      const std::string& records, Secrets secrets) {
  if (const std::string why = records::cannot_write(records); !why.empty()) return Problem{why};
  if (const std::string open = records::open_to_others(records); !open.empty())
    print_aside("note: " + open + "\n");
  end_on_interrupt();
  auto live = std::make_unique<Live>(fleet, records);
  if (const std::size_t lines = live->known.unreadable(); lines > 0) {
    print_aside(fmt::format(
        "note: {}/known-units.jsonl: {} cannot be read; a unit without one is known anew when it is met\n",
        records, report::counted(lines, "line")));
  }
  bool any_stored = false;
  for (const fleet::Unit* unit : units) {
    if (live->principals.count(unit->credential) > 0 || live->missing.count(unit->credential) > 0) continue;
    const auto credential = fleet.credentials.find(unit->credential);
    if (credential == fleet.credentials.end()) {
      return Problem{
          fmt::format("unit {} has no credential; name one in its entry or in fleet.yaml", unit->name)};
    }
    any_stored = any_stored || credential->second.stored;
    if (credential->second.stored) continue;
    auto principal = principal_of(fleet, credential->second);
    if (!principal && secrets == Secrets::may_be_missing) {
      live->missing[unit->credential] = principal.problem();
      continue;
    }
    if (!principal) return Problem{principal.problem()};
    live->principals[unit->credential] = *std::move(principal);
  }
  if (any_stored) {
    if (const auto problem = take_stored(fleet, units, *live)) return *problem;
  }
  if (secrets != Secrets::more_are_read) fleet::forget_secret_variables();
  return live;
}

std::string cannot_accept(const fleet::Choice& choice) {
  const auto pattern = [](const std::string& name) { return name.find_first_of("*?") != std::string::npos; };
  if (!choice.names.empty() && std::none_of(choice.names.begin(), choice.names.end(), pattern)) return {};
  return "--accept-replacement needs the units by their names, without * or ?: what answers at the addresses "
         "of "
         "others is not accepted unseen";
}

void accept_replacements(Live& live, const std::vector<const fleet::Unit*>& units) {
  std::vector<std::string> names;
  for (const fleet::Unit* unit : units) names.push_back(unit->name);
  live.known.accept(names, who_am_i());
}

std::unique_ptr<Ready> make_ready(const Common& common, const fleet::Choice& choice, bool accept_replacement,
                                  Secrets secrets) {
  if (const std::string why = cannot_accept(choice); accept_replacement && !why.empty()) {
    complain(why);
    return nullptr;
  }
  auto fleet = load(common);
  if (!fleet) return nullptr;
  auto ready = std::make_unique<Ready>(*std::move(fleet));
  auto units = chosen(ready->fleet, choice);
  if (!units) {
    complain(units.problem());
    return nullptr;
  }
  ready->units = *std::move(units);
  auto live = go_live(ready->fleet, ready->units, common.records_folder(), secrets);
  if (!live) {
    complain(live.problem());
    return nullptr;
  }
  ready->live = *std::move(live);
  if (accept_replacement) accept_replacements(*ready->live, ready->units);
  return ready;
}

}  // namespace vergeset::cli
