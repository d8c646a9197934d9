#include "cli/interrupt.h"

#include <signal.h>
#include <unistd.h>

#include <cerrno>
#include <string_view>

#include "cli/exit_status.h"

namespace vergeset::cli {

namespace {

volatile sig_atomic_t noted = 0;

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
  if (noted == 0) say("\nvergeset: interrupted; what has not begun is held");
  say("\nvergeset: units in hand are being finished; a change of mode may take a minute\n");
  noted = 1;
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

void note_interrupt() {
  signal(SIGPIPE, SIG_IGN);
  on_interrupt(note);
}

bool interrupt_noted() {
  return noted != 0;
}

}  // namespace vergeset::cli
