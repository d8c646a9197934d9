#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "dice.h"
#include "records/disk.h"
#include "trace.h"

namespace vergeset::faults {

/// Thrown where the program is killed; no std::exception, so that nothing takes it for a failure that a
/// program can survive.
struct Killed {};

/// What a disk is drawn to do wrong. Writes are counted from 1 over everything but the units' logs, on which
/// nothing rests; logs fail with the rest while the disk is full.
struct DiskTrouble {
  enum class Kind { full, fails, tears, sync_fails };
  Kind kind = Kind::full;
  int at_write = 0;
  int writes = 1;  ///< so many from there on
};

/// A disk in memory that has, as real ones do, what was written and what is on stable storage, and keeps
/// both apart. A power cut leaves of the rest what chance leaves: nothing, a part, or all (POSIX fsync: only
/// what was synced is promised). What a sync that failed was to write is never written, even where a later
/// sync reports success (Linux marks such pages clean): it reads as zeros after a power cut.
class FaultDisk : public records::Disk {
 public:
  FaultDisk(Dice dice, Trace& trace) : dice_(dice), trace_(trace) {}

  std::vector<DiskTrouble> troubles;
  std::function<void()> takes_time;  ///< called at each write
  int kill_at_write = 0;             ///< throws Killed there, before or after the write; 0: never
  std::function<void(const std::string& path, const std::string& octets)> watcher;  ///< of each append

  bool make_folder(const std::string& path) override;
  void append(const std::string& path, std::string_view octets, bool durable) override;
  using Disk::write_whole;
  void write_whole(const std::string& path, std::string_view octets, records::Durable durable) override;
  void sync_folder(const std::string& path) override;
  void sync_all() override;
  std::optional<std::string> read(const std::string& path) const override;
  std::vector<std::string> list(const std::string& path) const override;

  /// The octets of a file that are on stable storage under its name; nothing where it has none there.
  const std::string* durable(const std::string& path) const;

  /// All files but the units' logs as a program reads them, for "changes no record".
  std::map<std::string, std::string> records() const;

  int writes() const { return writes_; }
  bool failed() const { return failed_; }  ///< some write has been refused
  void mend() { troubles.clear(); }

  /// The program is gone: what its last breath writes goes nowhere.
  void program_dies() { dead_ = true; }
  /// Another program begins. Where the power was cut, with what stable storage has.
  void program_begins(bool power_was_cut);

 private:
  struct Contents {
    std::string octets;
    std::size_t synced = 0;                                    ///< of them, from the first
    std::vector<std::pair<std::size_t, std::size_t>> holes{};  ///< lost by a sync that failed
  };
  /// A name, and what was under it before that is not yet known to be gone.
  struct Name {
    std::shared_ptr<Contents> now;
    std::shared_ptr<Contents> on_disk;  ///< what the name stands for on stable storage; may be none
    mutable std::string seen;           ///< for durable()
  };

  std::optional<DiskTrouble> trouble();
  bool counts(const std::string& path) const;
  void before(const std::string& path);
  void sync(Contents& contents);
  [[noreturn]] void fail(const std::string& path, const char* why);
  void maybe_killed(bool after);
  std::string after_power_cut(const Contents& contents);

  Dice dice_;
  Trace& trace_;
  std::map<std::string, Name> names_;
  std::set<std::string> folders_;
  int writes_ = 0;
  bool failed_ = false;
  bool dead_ = false;
  bool kill_after_ = false;
};

}  // namespace vergeset::faults
