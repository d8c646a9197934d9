#include "cli/interrupt.h"

#include <signal.h>
#include <time.h>
#include <unistd.h>

#include <cerrno>
#include <string_view>

#include "cli/exit_status.h"

namespace vergeset::cli {

namespace {

volatile sig_atomic_t noted = 0;
volatile sig_atomic_t pressed = 0;  ///< Ctrl-C, how often

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

/// A terminal's Ctrl-C that a program between passes on comes twice, in one moment: one press.
bool pressed_anew() {
  static timespec last{};
  timespec now{};
  clock_gettime(CLOCK_MONOTONIC, &now);
  const auto ms = (now.tv_sec - last.tv_sec) * 1000 + (now.tv_nsec - last.tv_nsec) / 1000000;
  last = now;
  return ms > 200;
}

/// A terminal that is closed, or a service that is stopped, may say so any number of times.
void note(int signal) {
  if (signal == SIGINT && pressed_anew()) pressed = pressed + 1;
  noted = 1;
  if (pressed > 2) _exit(Exit::interrupted);
  if (pressed == 2 && signal == SIGINT) {
    say("\nvergeset: stopping at once\n");
  } else {
    say("\nvergeset: interrupted; units in hand are being finished, no other is begun; a change of mode may "
        "take a minute. Ctrl-C once more stops at once, and vergeset recover mends what is half done then\n");
  }
}

snmp::UdpNetwork* run_on = nullptr;

void end_run(int) {
  if (noted != 0) _exit(Exit::interrupted);
  noted = 1;
  run_on->interrupt();
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

void end_run_on_interrupt(Live& live) {
  signal(SIGPIPE, SIG_IGN);
  run_on = &live.network;
  on_interrupt(end_run);
}

Interruptible::Interruptible(Live& live) : live_(live) {
  signal(SIGPIPE, SIG_IGN);
  on_interrupt(note);
  live_.network.tick([] {
    if (pressed > 1) throw StoppedAtOnce();
  });
}

Interruptible::~Interruptible() {
  live_.network.tick({});
}

bool interrupt_noted() {
  return noted != 0;
}

}  // namespace vergeset::cli
