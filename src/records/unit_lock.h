#pragma once

#include <string>
#include <vector>

#include "records/descriptor.h"
#include "records/holder.h"
#include "smi/result.h"

namespace vergeset::records {

/// A unit to oneself, as long as this lives.
class UnitLock {
 public:
  UnitLock(UnitLock&&) noexcept = default;
  UnitLock& operator=(UnitLock&&) = delete;
  UnitLock(const UnitLock&) = delete;
  UnitLock& operator=(const UnitLock&) = delete;
  ~UnitLock();

 private:
  friend class UnitLocks;
  UnitLock(int folder, std::string name, Descriptor file)
      : folder_(folder), name_(std::move(name)), file_(std::move(file)) {}
  int folder_;  ///< of the UnitLocks
  std::string name_;
  Descriptor file_;
};

/// One change of a unit at a time on this machine, whatever records, fleet or user it goes by: the lock of a
/// fleet's records (lock.h) cannot know that another fleet means the same unit.
///
/// A unit's lock is flock(2) on a file of its address and port in a folder that all users share, so that a
/// process that dies lets go of it; what the file holds is for the reader. The folder is sticky (mode 1777)
/// and never a symbolic link, nor is a lock: so no other user can take a lock's file away, or have us write
/// into a file of his choice. The file goes with its lock: ten thousand units leave nothing behind.
///
/// A unit's host name and its numeric address are two names, and two locks.
class UnitLocks {
 public:
  /// The first of the folders that can be used; makes it where it is not there. A problem tells why none can.
  static Result<UnitLocks> open(const std::vector<std::string>& folders);

  /// `where` is "HOST:PORT". A problem where another process has the unit: who, what for and since when.
  Result<UnitLock> take(const std::string& where, const Holder& holder) const;

  const std::string& folder() const { return path_; }

 private:
  UnitLocks(std::string path, Descriptor folder) : path_(std::move(path)), folder_(std::move(folder)) {}
  static Result<UnitLocks> open_one(const std::string& path);
  Result<Descriptor> open_file(const std::string& name) const;
  Problem cannot(const std::string& name, const std::string& why) const;

  std::string path_;
  Descriptor folder_;
};

/// Where the locks of units stand: the folder named by the environment's VERGESET_LOCKS alone, or else those
/// that all users of a machine share.
std::vector<std::string> unit_lock_folders();

}  // namespace vergeset::records
