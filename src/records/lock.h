#pragma once

#include <string>
#include <utility>

#include "records/descriptor.h"
#include "records/holder.h"
#include "smi/result.h"

namespace vergeset::records {

/// What the second one is told: what is under way, and what to do.
struct Busy {
  const char* what = "a change is under way";
  const char* next = "Wait until it has ended, see `vergeset changes`, then go on";
};

/// One change at a time: two at once on the same units would each take what the other set for drift, and
/// put it back. The lock is flock(2) on the file `lock` in the folder of records, so that a process that
/// dies lets go of it; what the file holds is for the reader. Held as long as this object lives.
class Lock {
 public:
  /// Makes the folder where it is not there. A problem where it cannot be written, or where another
  /// process has the lock: then the text says who, what, since when, and what to do.
  static Result<Lock> take(const std::string& folder, const Holder& holder, const Busy& busy = {});

 private:
  explicit Lock(Descriptor file) : file_(std::move(file)) {}
  Descriptor file_;
};

/// Why no records can be written in this folder, without making it; empty where they can.
std::string cannot_write(const std::string& folder);

}  // namespace vergeset::records
