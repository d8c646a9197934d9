#include "cli/interrupt.h"

#include <signal.h>
#include <unistd.h>

#include <cerrno>
#include <string_view>

#include "cli/exit_status.h"

namespace vergeset::cli {

namespace {

volatile sig_atomic_t noted = 0;  ///< how many

/// Only what signal-safety(7) allows.
void say(std::string_view text) {
  const int kept = errno;
  [[maybe_unused]] const ssize_t written = write(STDERR_FILENO, text.data(), text.size());
  errno = kept;
}

void end_now(int) {
  say("\nvergeset: interrupted; no SET was sent\n");
  _exit(Exit::interrupted);
}

void note(int) {
  const sig_atomic_t before = noted;
  if (before == 0) {
    say("\nvergeset: interrupted; units in hand are being finished, no other is begun; a change of mode may "
        "take a minute. Once more stops at once, and vergeset recover mends what is half done then\n");
  } else if (before == 1) {
    say("\nvergeset: stopping at once\n");
  } else {
    _exit(Exit::interrupted);
  }
  noted = before + 1;
}

void on_interrupt(void (*handler)(int)) {
  struct sigaction action {};
  action.sa_handler = handler;
  action.sa_flags = SA_RESTART;
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
  sigaction(SIGHUP, &action, nullptr);
}

}  // namespace

void end_on_interrupt() {
  on_interrupt(end_now);
}

Interruptible::Interruptible(Live& live) : live_(live) {
  signal(SIGPIPE, SIG_IGN);
  on_interrupt(note);
  live_.network.tick([] {
    if (noted > 1) throw StoppedAtOnce();
  });
}

Interruptible::~Interruptible() {
  live_.network.tick({});
}

bool interrupt_noted() {
  return noted != 0;
}

}  // namespace vergeset::cli
