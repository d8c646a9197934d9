#include "change/factory_doors.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "records/unit_log.h"

namespace vergeset::change {

namespace {

using Result = records::FactoryTry::Result;

constexpr std::chrono::milliseconds pause{1000};

const smi::Oid& sys_up_time() {
  static const smi::Oid oid{1, 3, 6, 1, 2, 1, 1, 3, 0};  // RFC 3418
  return oid;
}

/// One unit's doors, one after the other.
class Trying {
 public:
  Trying(const World& world, Audited& unit)
      : world_(world),
        unit_(*unit.unit),
        out_(unit),
        tries_(records::FactoryTries::read(world.disk, unit.unit->name)),
        log_(world.disk, world.clock, unit.unit->name, "audit") {}

  snmp::Task<void> run(const std::vector<FactoryDoor>& doors) {
    for (const FactoryDoor& door : doors) {
      if (door.credential == unit_.credential && !door.credential.empty()) {
        // It was just read so, if it was.
        if (was_read()) out_.doors.push_back({door.name, Result::opens, out_.found.taken});
        continue;
      }
      if (auto known = tries_.recent(door.name, world_.clock.now())) {
        out_.doors.push_back(*std::move(known));
        continue;
      }
      if (locked_) {
        out_.doors.push_back({door.name, Result::not_tried, {}});
        continue;
      }
      co_await knock(door);
    }
    log_.flush();
  }

 private:
  bool was_read() const { return out_.verdict == Verdict::agrees || out_.verdict == Verdict::drifted; }

  snmp::Task<void> knock(const FactoryDoor& door) {
    co_await world_.network.sleep(pause);
    tries_.begin(world_.disk, door.name, world_.clock.now());
    const std::string at = records::stamp(world_.clock.now());
    const bool opens = co_await opens_with(door.principal);
    const Result result = opens ? Result::opens : Result::refused;
    tries_.end(world_.disk, door.name, result);
    log_.line(fmt::format("factory {}: {}", door.name, result_name(result)));
    out_.doors.push_back({door.name, result, at});
    if (opens || !was_read()) co_return;
    const bool lets_us_in = co_await lets_own_in();
    if (lets_us_in) co_return;
    locked_ = true;
    log_.line("it does not let us in any more: no further factory credential is tried");
  }

  /// Any answer at all that came to this principal: what it may see is another question.
  snmp::Task<bool> opens_with(std::shared_ptr<const snmp::Principal> principal) {
    snmp::Endpoint endpoint;
    endpoint.host = unit_.host;
    endpoint.port = port();
    endpoint.timeout_ms = world_.fleet.timeout_ms;
    endpoint.retries = 0;
    endpoint.fingerprint = unit_.fingerprint;
    endpoint.only_engine = expected_engine(world_, unit_);
    endpoint.once = true;
    snmp::Opened opened = co_await world_.network.open(std::move(endpoint), std::move(principal));
    if (!opened) co_return false;
    const bool answered = co_await answers(*opened.link);
    co_return answered;
  }

  /// Users and communities are met on SNMP's own port (RFC 3417 3.1), which a unit that speaks TLS elsewhere
  /// may have left open.
  std::uint16_t port() const {
    const auto own = world_.fleet.credentials.find(unit_.credential);
    const bool by_certificate =
        own != world_.fleet.credentials.end() && own->second.kind == fleet::Credential::Kind::certificate;
    return by_certificate ? 161 : unit_.port;
  }

  snmp::Task<bool> lets_own_in() {
    snmp::Opened own = co_await open_link(world_, unit_);
    if (!own) co_return false;
    const bool answered = co_await answers(*own.link);
    co_return answered;
  }

  static snmp::Task<bool> answers(snmp::Link& link) {
    std::vector<smi::Oid> oids(1, sys_up_time());
    const snmp::Answer answer = co_await link.get(std::move(oids));
    co_return answer || answer.error().status != 0;
  }

  const World& world_;
  const fleet::Unit& unit_;
  Audited& out_;
  records::FactoryTries tries_;
  records::UnitLog log_;
  bool locked_ = false;
};

snmp::Task<void> try_one(const World& world, const std::vector<FactoryDoor>& doors, Audited& unit) {
  Trying trying(world, unit);
  co_await trying.run(doors);
}

bool may_be_tried(const Audited& unit) {
  return unit.verdict == Verdict::agrees || unit.verdict == Verdict::drifted || unit.refused_us;
}

}  // namespace

void try_doors(const World& world, const std::vector<FactoryDoor>& doors, std::vector<Audited>& units,
               std::size_t at_once) {
  if (doors.empty()) return;
  std::vector<Audited*> tried;
  for (Audited& unit : units) {
    if (may_be_tried(unit)) tried.push_back(&unit);
  }
  world.network.run_each(
      tried.size(), [&](std::size_t i) { return try_one(world, doors, *tried[i]); }, at_once);
}

bool stands_open(const Audited& unit) {
  return std::any_of(unit.doors.begin(), unit.doors.end(), [](const records::FactoryTry& one) {
    return one.result == Result::opens || one.result == Result::not_tried;
  });
}

}  // namespace vergeset::change
