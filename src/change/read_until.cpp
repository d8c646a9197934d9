#include "change/read_until.h"

namespace vergeset::change {

bool may_answer_later(const snmp::Error& error) {
  return error.failure == snmp::Failure::no_answer || error.failure == snmp::Failure::unreachable ||
         error.failure == snmp::Failure::error_status || error.failure == snmp::Failure::no_access ||
         error.failure == snmp::Failure::clock_window;
}

snmp::Task<Surveyed> read_until(snmp::Network& network, snmp::Link& link, std::vector<smi::Oid> instances,
                                std::chrono::milliseconds until) {
  constexpr std::chrono::milliseconds pause{1000};
  while (true) {
    std::vector<smi::Oid> wanted = instances;
    Surveyed surveyed = co_await read(link, std::move(wanted));
    if (surveyed || !may_answer_later(*surveyed.error) || network.now() + pause >= until) co_return surveyed;
    co_await network.sleep(pause);
  }
}

}  // namespace vergeset::change
