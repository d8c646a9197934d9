#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "records/disk.h"
#include "smi/result.h"

namespace vergeset::records {

/// A user's keys at one unit, localized to its engine (RFC 3414 2.6): of no use at any other.
struct StoredKeys {
  enum class State {
    before,  ///< opened the unit when a change of its keys began
    made,    ///< to become the unit's: the SET that does it may have been sent
    opens,   ///< seen to open it
    unused,  ///< the unit never took it
  };
  std::string id;  ///< sixteen hex digits, drawn
  std::string unit;
  std::string credential;  ///< of fleet.yaml, which they stand for
  int change = 0;
  State state = State::made;
  std::string user;
  std::string engine_id;  ///< octets
  std::string auth;       ///< protocols as in fleet.yaml
  std::string auth_key;   ///< octets
  std::string privacy;
  std::string privacy_key;
  std::int64_t boots = 0;  ///< snmpEngineBoots when they were seen to open the unit
  bool survived = false;   ///< opened it after a later start too

  StoredKeys() = default;
  StoredKeys(const StoredKeys&) = default;
  StoredKeys(StoredKeys&&) = default;
  StoredKeys& operator=(const StoredKeys&) = default;
  StoredKeys& operator=(StoredKeys&&) = default;
  ~StoredKeys();  ///< wipes the keys

  bool same_keys(const StoredKeys& other) const;
};

/// Where a key store is kept: lines are added, and none is ever lost.
class KeyPlace {
 public:
  virtual ~KeyPlace() = default;
  /// All that was appended; empty where nothing was yet. What cannot be read throws DiskError.
  virtual std::string read() const = 0;
  /// On stable storage when it returns; throws DiskError otherwise, when part of it may be there.
  virtual void append(std::string_view lines) = 0;
};

/// The keys that vergeset made for units and keeps for them, and those that they had before.
///
/// A lost key is a truck and a ladder, so whatever happens one of a unit's stored keys opens it: keys are on
/// stable storage before the SET that gives them to a unit leaves, and those that opened the unit before
/// stay: some units write down what was set only when they are shut down in order, and forget it in a power
/// cut (common practice, no source). Older ones than those that have opened it after a later start are not
/// tried any more.
///
/// One line of JSON an event; a line that was torn by a power cut was never acted on and is passed over, a
/// damaged one is a problem: what it held may be the only key of a unit.
class KeyStore {
 public:
  static Result<KeyStore> open(KeyPlace& place);

  KeyStore(KeyStore&&) = default;
  KeyStore& operator=(KeyStore&&) = default;

  /// Those of a unit, newest first.
  std::vector<StoredKeys> of(const std::string& unit) const;
  /// The newest that was seen to open the unit, of this credential.
  std::optional<StoredKeys> current(const std::string& unit, const std::string& credential) const;

  // What these return is the number to ask on_disk() for.
  std::uint64_t add(const StoredKeys& keys);
  std::uint64_t mark(const std::string& id, StoredKeys::State state, std::int64_t boots);
  /// Secrets that several units share, for people to use by hand: nothing here reads them.
  std::uint64_t add_shared(const std::string& id, const std::string& credential, const std::string& user,
                           const std::string& auth_secret, const std::string& privacy_secret);
  /// The keys have opened the unit after a later start.
  std::uint64_t mark_survived(const std::string& id);
  std::uint64_t on_disk() const { return on_disk_; }
  /// Puts what was added on stable storage; throws DiskError, and keeps it for the next attempt.
  void sync();

 private:
  explicit KeyStore(KeyPlace& place) : place_(&place) {}
  std::optional<Problem> take(const std::string& text);
  std::optional<Problem> take_line(const std::string& line);
  StoredKeys* find(const std::string& id);
  std::uint64_t wait(std::string line);

  KeyPlace* place_;
  std::vector<StoredKeys> keys_;  ///< oldest first
  std::string waiting_;
  std::uint64_t added_ = 0;
  std::uint64_t on_disk_ = 0;
  bool torn_ = false;
};

/// A key store in a file of its own, by the seam of the records: mode 600, in a folder of mode 700.
class DiskKeyPlace : public KeyPlace {
 public:
  DiskKeyPlace(Disk& disk, std::string path) : disk_(disk), path_(std::move(path)) {}
  std::string read() const override { return disk_.read(path_).value_or(""); }
  void append(std::string_view lines) override;

 private:
  Disk& disk_;
  std::string path_;
};

}  // namespace vergeset::records
