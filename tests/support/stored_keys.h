#pragma once

#include <algorithm>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

/// The key store as README tells of it, a line of JSON an event, read without the program's own reader; and
/// what is in it as words for net-snmp's commands.
namespace vergeset::tests {

struct StoredKey {
  std::string id;
  std::string is;  ///< as the last line about it says: before, made, opens, unused
  std::string unit;
  int change = 0;
  std::string user;
  std::string auth;  ///< protocols as in fleet.yaml
  std::string auth_key;
  std::string privacy;
  std::string privacy_key;  ///< both in hex
};

/// The protocols that fleet.yaml and net-snmp call by different names.
inline std::string commands_word(const std::string& protocol) {
  if (protocol == "SHA-1") return "SHA";
  if (protocol == "AES-128") return "AES";
  return protocol;
}

/// Who it is to snmpget and the others: -3k and -3K take localized keys (snmpcmd(1)).
inline std::string words_of(const StoredKey& key) {
  return "-v3 -l authPriv -u " + key.user + " -a " + commands_word(key.auth) + " -3k 0x" + key.auth_key +
         " -x " + commands_word(key.privacy) + " -3K 0x" + key.privacy_key;
}

/// What the whole lines of the file say, oldest first; one that was torn off is passed over.
class StoreFile {
 public:
  explicit StoreFile(const std::string& path) {
    std::ifstream file(path);
    for (std::string text; std::getline(file, text);) {
      const nlohmann::json line = nlohmann::json::parse(text, nullptr, false);
      if (line.is_object()) take(line);
    }
  }

  const std::vector<StoredKey>& all() const { return keys_; }
  const std::vector<nlohmann::json>& shared() const { return shared_; }

  std::vector<StoredKey> of(const std::string& unit) const {
    std::vector<StoredKey> own;
    std::copy_if(keys_.begin(), keys_.end(), std::back_inserter(own),
                 [&](const StoredKey& key) { return key.unit == unit; });
    return own;
  }

  /// The last ones of a unit that have this state; none: all texts are empty.
  StoredKey last(const std::string& unit, const std::string& is) const {
    StoredKey found;
    for (const StoredKey& key : of(unit)) {
      if (key.is == is) found = key;
    }
    return found;
  }

 private:
  void take(const nlohmann::json& line) {
    const std::string id = line.value("id", "");
    const std::string is = line.value("is", "");
    if (is == "shared") {
      shared_.push_back(line);
    } else if (line.contains("auth_key")) {
      keys_.push_back({id, is, line.value("unit", ""), line.value("change", 0), line.value("user", ""),
                       line.value("auth", ""), line.value("auth_key", ""), line.value("privacy", ""),
                       line.value("privacy_key", "")});
    } else {
      for (StoredKey& key : keys_) {
        if (key.id == id && is != "survived") key.is = is;
      }
    }
  }

  std::vector<StoredKey> keys_;
  std::vector<nlohmann::json> shared_;
};

}  // namespace vergeset::tests
