#include <fmt/format.h>
#include <unistd.h>

#include <memory>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/interrupt.h"
#include "cli/listener.h"
#include "cli/print.h"
#include "records/lock.h"
#include "snmp/key_change.h"

namespace vergeset::cli {

namespace {

constexpr std::size_t greatest_port = 65535;

struct ListenOptions {
  Common common;
  fleet::Choice choice;
  std::vector<std::string> addresses;
  std::size_t port = 162;
  std::size_t tls_port = 10162;
  std::size_t seconds = 0;
  bool audit = false;
  std::size_t audit_after = 30;
};

/// 80001f88 05 and twelve octets drawn (RFC 3411, SnmpEngineID: octets, administratively assigned), as the
/// other engine of ours has it (snmp/library.cpp).
std::string drawn_engine() {
  return std::string("\x80\x00\x1f\x88\x05", 5) + snmp::random_octets(12);
}

/// Two of them would be one engine with two clocks.
Result<records::Lock> alone(const ListenOptions& options, const records::Clock& clock) {
  const records::Holder holder{who_am_i(), "listen", records::stamp(clock.now()), ::getpid()};
  return records::Lock::take(options.common.records_folder() + "/listen", holder,
                             {"another vergeset listen works with these records",
                              "End it, or give other records with --records DIR"});
}

int listen(const ListenOptions& options) {
  if (options.port > greatest_port) return complain("--port is a number of at most 65535");
  if (options.tls_port > greatest_port) return complain("--tls-port is a number of at most 65535");
  const auto ready = make_ready(options.common, options.choice);
  if (!ready) return Exit::bad_input;
  const auto lock = alone(options, ready->live->clock);
  if (!lock) return complain(lock.problem());
  Listened listened = listened_of(ready->fleet, *ready->live, ready->units);
  if (!listened.any) {
    std::string why = "nothing of these units can be heard";
    for (const std::string& note : listened.notes) why += "\n  " + note;
    return complain(why);
  }
  const auto own = records::start_own_engine(ready->live->disk, drawn_engine);
  if (!own) return complain(own.problem());
  const ListenWishes wishes{options.addresses,
                            static_cast<std::uint16_t>(options.port),
                            static_cast<std::uint16_t>(options.tls_port),
                            std::chrono::seconds(options.seconds),
                            options.audit,
                            std::chrono::seconds(options.audit_after),
                            options.common.json};
  const std::vector<std::string> notes = listened.notes;
  Listener listener(*ready, wishes, *own, std::move(listened));
  if (const auto problem = listener.open()) return complain(problem->text);
  end_run_on_interrupt(*ready->live);
  listener.announce(notes);
  listener.run();
  listener.summary();
  return Exit::done;
}

}  // namespace

Command listen_command() {
  const auto options = std::make_shared<ListenOptions>();
  return {
      "listen",
      "Writes what units say unasked (traps, informs) to their logs.",
      {{"",
        {{"--address", "ADDR", "where to listen (default: everywhere); may be repeated", &options->addresses},
         {"--port", "N", "the UDP port (default: 162)", &options->port},
         {"--tls-port", "N", "of units spoken to by certificate (default: 10162)", &options->tls_port},
         {"--seconds", "N", "how long (default: until Ctrl-C or SIGTERM)", &options->seconds},
         {"--audit", "", "audits a unit that has sent something", &options->audit},
         {"--audit-after", "N", "so many seconds after it (default: 30)", &options->audit_after}}},
       section_of(options->choice),
       section_of(options->common)},
      "vergeset listen --port 1162 --audit --group signals",
      [options] { return listen(*options); }};
}

}  // namespace vergeset::cli
