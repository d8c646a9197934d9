#include "change/wait_mode.h"

#include <fmt/format.h>

#include "change/survey.h"
#include "records/mistake.h"

namespace vergeset::change {

using records::makes;
using records::Mistake;

snmp::Task<std::string> wait_for_mode(snmp::Network& network, snmp::Link& link, const schema::ModeRule& rule,
                                      bool operate, std::chrono::milliseconds limit) {
  constexpr std::chrono::milliseconds pause{250};
  const std::int64_t wanted = operate ? rule.status_operate : rule.status_standby;
  const std::chrono::milliseconds until = network.now() + (makes(Mistake::wait_for_ever) ? 100 : 1) * limit;
  const smi::Oid instance = rule.status->oid.child(0);
  std::string last;
  bool answers = false;
  bool was_well = false;  // a unit that is in fault already may yet leave it
  while (true) {
    const Surveyed surveyed = co_await read(link, std::vector<smi::Oid>(1, instance));
    answers = static_cast<bool>(surveyed);
    if (answers) {
      const smi::Value& status = surveyed.found.at(instance);
      if (!status.absent() && status.number == wanted) co_return std::string();
      last = smi::to_text(rule.status->syntax, status);
      if (makes(Mistake::fault_is_operate) && rule.status_fault && status.number == *rule.status_fault)
        co_return std::string();
      const bool fault = rule.status_fault && status.number == *rule.status_fault;
      if (fault && was_well) co_return "the unit went to fault";
      was_well = was_well || !fault;
    }
    if (network.now() >= until) break;
    co_await network.sleep(pause);
  }
  const std::string late =
      fmt::format("not in {} after {} s", operate ? "operate" : "standby", limit.count() / 1000);
  if (answers) co_return fmt::format("{} (mode: {})", late, last);
  co_return fmt::format("{}: the unit stopped answering{}", late,
                        last.empty() ? std::string() : fmt::format(" (last known mode: {})", last));
}

}  // namespace vergeset::change
