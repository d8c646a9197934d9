#pragma once

#include <sys/types.h>

#include <chrono>
#include <string>
#include <vector>

#include "smi/result.h"

namespace vergeset::cli {

/// Another program that is run without a shell: with these words, this environment and no other, nothing on
/// its standard input. What it prints, to either output, is kept (a megabyte at most).
class Child {
 public:
  static Result<Child> start(const std::string& program, std::vector<std::string> words,
                             std::vector<std::string> environment);
  Child(Child&& other) noexcept;
  Child& operator=(Child&&) = delete;
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;
  /// Ends it where it still runs.
  ~Child();

  /// Takes what it prints until it ends or so long has passed; whether it has ended.
  bool ended_within(std::chrono::milliseconds limit);
  /// What it ended with; -1 where it runs, or a signal ended it.
  int status() const { return status_; }
  const std::string& printed() const { return printed_; }

 private:
  Child(pid_t process, int output) : process_(process), output_(output) {}
  bool take_output();
  bool wait_until(std::chrono::steady_clock::time_point end);

  pid_t process_ = -1;
  int output_ = -1;
  int status_ = -1;
  std::string printed_;
};

}  // namespace vergeset::cli
