#pragma once

#include <exception>

#include "cli/live.h"

namespace vergeset::cli {

/// Ctrl-C (and SIGTERM, and the end of the terminal) while nothing is being set: the program ends at
/// once, with status 6.
void end_on_interrupt();

/// Ctrl-C a second time in a change: nothing more is sent, and the change has not ended.
struct StoppedAtOnce : std::exception {
  const char* what() const noexcept override {
    return "stopped at once; units in hand may be half changed, or in standby. Next: vergeset recover";
  }
};

/// While units are set, as long as this lives: an interrupt is noted, and units in hand finish, and nothing
/// else is begun. Ctrl-C a second time throws StoppedAtOnce out of the loop, so that logs are written and
/// links closed on the way out; a third ends the process, whatever it hangs in. A reader of our output that
/// goes away (`| head`) does not end a change half way either, nor does a terminal that is closed.
class Interruptible {
 public:
  explicit Interruptible(Live& live);
  ~Interruptible();
  Interruptible(const Interruptible&) = delete;
  Interruptible& operator=(const Interruptible&) = delete;

 private:
  Live& live_;
};

bool interrupt_noted();

/// For a command that runs until it is told to end: Ctrl-C, SIGTERM and the end of the terminal interrupt the
/// network, whose tasks end as they find that. A second one ends the process with status 6.
void end_run_on_interrupt(Live& live);

}  // namespace vergeset::cli
