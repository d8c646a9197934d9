#include "cli/claims.h"

#include <fmt/format.h>
#include <unistd.h>

#include "cli/print.h"
#include "records/clock.h"
#include "records/unit_lock.h"

namespace vergeset::cli {

using Claim = std::function<Result<std::shared_ptr<void>>(const fleet::Unit&)>;

Result<Claim> claims_for(const std::string& command) {
  auto opened = records::UnitLocks::open(records::unit_lock_folders());
  if (!opened) return Problem{opened.problem()};
  const auto locks = std::make_shared<const records::UnitLocks>(*std::move(opened));
  // Asked once: the system reads its list of users for it.
  const std::string who = who_am_i();
  return Claim([locks, command, who](const fleet::Unit& unit) -> Result<std::shared_ptr<void>> {
    const records::Holder holder{who, command, records::stamp(records::SystemClock().now()), ::getpid()};
    auto lock = locks->take(fmt::format("{}:{}", unit.host, unit.port), holder);
    if (!lock) return Problem{lock.problem()};
    return std::shared_ptr<void>(std::make_shared<records::UnitLock>(*std::move(lock)));
  });
}

}  // namespace vergeset::cli
