#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fleet/keep.h"
#include "fleet/limits.h"
#include "fleet/rules.h"
#include "fleet/shared_list.h"
#include "fleet/texts.h"
#include "schema/model.h"
#include "schema/place.h"
#include "smi/value.h"

namespace vergeset::fleet {

/// Where a secret comes from; never the secret itself.
struct SecretSource {
  enum class Kind { none, environment, file, command };
  Kind kind = Kind::none;
  std::string where;  ///< variable, path (relative to the fleet), or command line for /bin/sh
  Place place;
  std::vector<std::string> withheld{};  ///< variables that hold secrets, which a command does not get
};

/// A certificate of ours and what is trusted of a unit's (RFC 6353). Paths are relative to the fleet's
/// folder.
struct Certificate {
  bool datagrams = false;     ///< DTLS over UDP, not TLS over TCP
  std::string file;           ///< PEM; ours, with what leads from it to its root
  SecretSource key;           ///< of ours, PEM
  std::string trust;          ///< PEM: the roots of units' certificates; empty: none
  std::string fingerprint;    ///< of the units' certificate, as of Unit; empty: none
  bool old_versions = false;  ///< TLS 1.0 and 1.1 too, which RFC 8996 forbids
};

/// Who units are spoken to as, by reference: a user of SNMPv3's user-based security model (RFC 3414), the
/// community of SNMPv1 or SNMPv2c, or the holder of a certificate (RFC 6353).
struct Credential {
  enum class Kind { user, community, certificate };
  std::string name;
  Kind kind = Kind::user;

  std::string user;
  std::string auth = "SHA-256";     ///< none, MD5, SHA-1, SHA-224, SHA-256, SHA-384, SHA-512
  std::string privacy = "AES-128";  ///< none, DES, AES-128, AES-192, AES-256
  SecretSource auth_secret;         ///< none where there is no authentication, or the keys are stored
  SecretSource privacy_secret;
  bool stored = false;  ///< the keys are in the fleet's key store, where vergeset put them

  std::string version;  ///< of a community: "1" or "2c"
  SecretSource community;

  Certificate certificate;

  std::string insecure;  ///< why what weaknesses() tells is used all the same; empty otherwise
  Place place;
};

/// What is insecure about a credential, each in a few words ("MD5 authentication"); nothing where nothing is.
std::vector<std::string> weaknesses(const Credential& credential);

/// Where vergeset keeps the keys that it makes: a file, or two commands that hand them out and take them.
struct KeyStore {
  std::string file;  ///< relative to the fleet's folder; empty: the commands
  std::string get;   ///< for /bin/sh
  std::string put;
  Place place;
};

/// A site record: what was installed where. Fields are kept as text under the names of
/// site_fields(); {site.latitude} and the like give them to desired values.
struct Site {
  Texts fields;
  std::optional<double> latitude;   ///< degrees, WGS 84, as surveyed
  std::optional<double> longitude;  ///< degrees
};

/// One file's say on one value.
struct Asked {
  Place place;
  SharedText layer;  ///< "fleet", "group signals", "unit LK-104"
  SharedText text;   ///< as written
};

/// A value that the files ask for, on this unit's model.
struct DesiredValue {
  SharedText name;  ///< as the files name it: the common name, or the standard's
  const schema::Object* object = nullptr;
  smi::Value value;
  Asked asked;
  std::vector<Asked> overrode;  ///< strongest first
};

/// A row that the files ask for: where it is to be found, and what its columns should be.
struct DesiredRow {
  std::string label;                   ///< its name in the files: "map"
  std::optional<std::uint32_t> index;  ///< stated; otherwise `match` finds it
  /// Columns (by position in `columns`) whose values pick the row out of those found.
  std::vector<std::size_t> match;
  /// Match on the kind of message in the first two octets of a payload column, where the model has
  /// no column of its own for it.
  struct PayloadKind {
    const schema::Object* payload = nullptr;
    std::int64_t message_id = 0;
  };
  std::optional<PayloadKind> match_payload;
  bool present = true;  ///< false: this row is to be gone
  SharedList<DesiredValue> columns;
  Asked asked;
};

/// What is done with rows that nobody asked for.
enum class Others { keep, remove, ignore };

struct DesiredTable {
  std::string name;  ///< as the files name it
  const schema::Table* table = nullptr;
  Others others = Others::keep;
  SharedList<DesiredRow> rows;
};

/// A value that was asked for under a common name and means nothing on this unit's model.
struct LeftOut {
  std::string name;
  std::string why;
  Asked asked;
};

/// Traits that a layer overrode, by object or table name. Copies share them until one is changed.
class OwnTraits {
 public:
  /// Nothing where no layer speaks of it.
  const schema::Traits* find(const std::string& name) const;
  schema::Traits& operator[](const std::string& name);

 private:
  std::shared_ptr<std::map<std::string, schema::Traits>> traits_;
};

/// What the files ask of a unit. Units of one model and the same groups share whatever does not depend
/// on the unit.
struct Desired {
  SharedList<DesiredValue> values;  ///< scalars, by name
  SharedList<DesiredTable> tables;
  SharedList<LeftOut> left_out;
  OwnTraits traits;

  schema::Traits traits_of(const schema::Object& object) const;
  bool needs_standby(const schema::Table& table) const;
};

struct Unit {
  std::string name;
  std::string host;  ///< address or name
  std::uint16_t port = 161;
  const schema::Model* model = nullptr;
  SharedList<std::vector<std::string>> groups;  ///< weakest level first; groups at one level side by side
  std::string credential;
  std::string engine_id;  ///< hex; empty where the inventory does not say
  /// Of the unit's certificate, "sha256:" and its digest in hex; empty where the inventory does not say.
  std::string fingerprint;
  Site site;
  Texts values;  ///< for {name} in desired values
  Desired desired;
  Place place;

  bool in_group(std::string_view group) const;
};

/// A wave: a number of units, a share of them, or the rest.
struct Wave {
  enum class Kind { count, percent, rest };
  Kind kind = Kind::rest;
  int number = 0;
};

/// Days and hours in the fleet's time zone when changes may be made; empty: always.
struct Window {
  struct Span {
    int day = 0;    ///< 0 Sunday .. 6 Saturday: the day it opens
    int from = 0;   ///< minutes after midnight
    int until = 0;  ///< minutes after midnight of the opening day; above 1440 reaches into the next
  };
  std::vector<Span> spans;
  std::string text;  ///< as written

  /// weekday 0 Sunday, minute of the day; both local to the fleet.
  bool open(int weekday, int minute) const;
};

struct Fleet {
  std::string name;
  std::string folder;
  std::string timezone = "UTC";
  std::vector<Wave> waves;   ///< empty: all at once
  int failures_allowed = 0;  ///< in a wave, before the change stops
  Window window;
  int mode_wait_s = 60;   ///< how long a unit may take between standby and operate
  int timeout_ms = 1500;  ///< for the first answer
  int retries = 3;        ///< of reads; a SET is never repeated blindly
  std::vector<std::string> factory_communities{"public", "private"};  ///< what audits try besides
  bool require_second_person = false;       ///< changes only by work orders that another has approved
  Limits limits;                            ///< what findings are measured against
  Keep keep;                                ///< how long records stay
  Severities severities;                    ///< and how much each matters
  std::optional<double> position_within_m;  ///< identify: a unit further from its survey is the wrong one
  /// Versions that are approved, by model; a model without any: all are.
  std::map<std::string, std::vector<std::string>> firmware;
  std::map<std::string, Credential> credentials;
  std::vector<std::string> factory_credentials;  ///< what units may have as they leave the factory
  std::optional<KeyStore> key_store;
  std::map<std::string, Place> groups;
  std::vector<Unit> units;         ///< by name
  std::vector<std::string> files;  ///< every file that was read, relative to folder, for records
  std::unique_ptr<schema::Schema> schema;

  const Unit* unit(std::string_view unit_name) const;
};

/// Reads a fleet: fleet.yaml, units.yaml or units.csv, groups/*.yaml, payloads, models/. Every
/// fault of the tree is in `faults`; where there are any the fleet may be incomplete and nothing
/// may be sent.
Fleet load_fleet(const std::string& folder, const std::string& schemas, Faults& faults);

/// The same with this text in the place of units.csv, whether there is one or not: what would come of writing
/// it.
Fleet load_fleet_with(const std::string& folder, const std::string& schemas, const std::string& units_csv,
                      Faults& faults);

/// The choice of units on a command line: each of names, groups and models that is given narrows it.
struct Choice {
  std::vector<std::string> names;  ///< names, or patterns with * and ?; empty: all
  std::vector<std::string> groups;
  std::vector<std::string> models;
  std::vector<std::string> except;  ///< names or patterns
  std::string part{};               ///< "2/4": the second of four parts of these (part.h); empty: all of them
};

/// The chosen units, by name. A word that fits nothing is a problem, with a suggestion, and so is a
/// choice that leaves no unit; problems stand one a line. A part that none of them falls into is empty.
Result<std::vector<const Unit*>> choose(const Fleet& fleet, const Choice& choice);

/// The names that a site record may have, with what each means (units of measure included).
const std::vector<std::pair<std::string, std::string>>& site_fields();

}  // namespace vergeset::fleet
