#include "change/settle.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "change/identify.h"
#include "change/in_hand.h"
#include "change/keep.h"
#include "change/message_size.h"
#include "change/mode.h"
#include "change/put_back.h"
#include "change/read_until.h"
#include "change/survey.h"
#include "change/walk.h"
#include "records/mistake.h"

namespace vergeset::change {

namespace {

using records::makes;
using records::Mistake;
using std::chrono::milliseconds;

/// Of an integer's contents (RFC 2578 2).
constexpr std::size_t number_contents = 5;

class Settling {
 public:
  Settling(const World& world, const fleet::Unit& unit, const Goal& goal, records::Journal& journal,
           const SettleOptions& options)
      : world_(world),
        unit_(unit),
        goal_(goal),
        options_(options),
        hand_(world, unit, journal, options),
        walk_(hand_, serial_) {}

  snmp::Task<UnitResult> run() {
    try {
      const bool ready = co_await begin();
      if (ready) co_await change();
    } catch (const records::DiskError& error) {
      hand_.records_fail(error, walk_.left_operate().has_value());
    }
    hand_.result().still_off_air = walk_.left_operate().has_value();
    walk_.on_air_again();
    co_await hand_.close();
    co_return std::move(hand_.result());
  }

 private:
  void end(Outcome outcome, std::string what) { hand_.end(outcome, std::move(what)); }

  /// Reads the goal's objects, and the serial number that SETs will name.
  snmp::Task<Surveyed> look() {
    Wanted wanted = goal_.wanted;
    wanted.instances.push_back(SerialNo::instance());
    if (!wanted.octets.empty()) wanted.octets.push_back(column_octets(SerialNo::instance(), number_contents));
    Surveyed surveyed = co_await hand_.look(std::move(wanted));
    co_return surveyed;
  }

  /// Everything before the first SET. False where the unit's change ends here.
  snmp::Task<bool> begin() {
    const bool opened = co_await hand_.open();
    if (!opened) co_return false;
    Surveyed surveyed = co_await look();
    if (!surveyed) {
      hand_.not_reached(*surveyed.error);
      co_return false;
    }
    remember_engine(world_, unit_, hand_.link());
    found_ = std::move(surveyed.found);
    serial_.found(found_.at(SerialNo::instance()));
    const auto wrong = wrong_unit(world_.fleet, unit_, found_);
    if (wrong && !makes(Mistake::any_unit)) {
      end(Outcome::refused, "wrong unit: " + *wrong);
      co_return false;
    }
    if (!wrong) know(world_, unit_, hand_.link(), hand_.log());
    hand_.known_as(found_);
    const bool differs = compare();
    if (!differs) {
      if (hand_.result().outcome != Outcome::nothing_to_do) co_return false;
      co_await read_details(hand_.link(), *unit_.model, found_);
      judge(world_.fleet, unit_, found_, hand_.result());
      co_return false;
    }
    const bool prepared = co_await prepare();
    co_return prepared;
  }

  /// False where there is nothing to do, or nothing that can be done.
  bool compare() {
    UnitResult& result = hand_.result();
    Comparison comparison = goal_.compare(found_);
    result.remarks = std::move(comparison.remarks);
    result.differences = std::move(comparison.differences);
    if (!comparison.obstacles.empty()) {
      end(Outcome::refused, comparison.obstacles.front());
    } else if (result.differences.empty()) {
      end(Outcome::nothing_to_do, "");
    } else if (const auto objection = goal_.objection ? goal_.objection(found_) : std::nullopt) {
      end(Outcome::refused, *objection);
    } else {
      return true;
    }
    return false;
  }

  /// Reads what a snapshot needs beside, works out the steps, and puts both on disk.
  snmp::Task<bool> prepare() {
    UnitResult& result = hand_.result();
    Surveyed rest = co_await read(hand_.link(), to_keep(*unit_.model, result.differences));
    if (!rest) {
      end(Outcome::no_answer, rest.error->text);
      co_return false;
    }
    if (!makes(Mistake::rows_half_kept)) {
      for (auto& [instance, value] : rest.found.instances) found_.instances[instance] = std::move(value);
    }
    fill_whole_rows(unit_, found_, result.differences);
    const ModeFound mode = mode_of(*unit_.model, found_);
    result.sequence = goal_.reviewed ? *goal_.reviewed : sequence(*unit_.model, result.differences, mode);
    for (const Step& step : result.sequence.steps) {
      if (!step.cuts_off || options_.allow_cut_off) continue;
      end(Outcome::refused,
          fmt::format("{} can cut this manager off: add --allow-cut-off to set it", step.about));
      co_return false;
    }
    ends_off_air_ = result.sequence.ends_off_air;
    snapshot_ = keep(unit_, found_, result.differences);
    const std::uint64_t line = hand_.add_begin(snapshot_, found_.engine_id, result.sequence.steps.size());
    co_await hand_.on_disk(line);
    co_return true;
  }

  snmp::Task<void> change() {
    std::string failure = co_await walk_.take(hand_.result().sequence, Walk::Way::there, found_);
    if (failure.empty()) {
      std::string unlike = co_await verify();
      failure = std::move(unlike);
    }
    if (!failure.empty()) {
      co_await restore(std::move(failure));
      co_return;
    }
    end(Outcome::settled, "");
    co_await keep_as_left(hand_, snapshot_);
  }

  /// It was on air, is to be, and is not, though our SETs alone have touched its mode: whatever the files
  /// say.
  bool off_air_by_us(const AsFound& now) const {
    const ModeFound mode = mode_of(*unit_.model, now);
    return walk_.mode_touched() && snapshot_.on_air && !ends_off_air_ && mode.known && !mode.operate;
  }

  /// Reads the unit anew, and as often as a SET may still have come in between; empty, or what is not as
  /// desired.
  snmp::Task<std::string> verify() {
    if (makes(Mistake::trust_response)) co_return std::string();
    for (int readings = 0; readings < most_readings; ++readings) {
      std::string unlike = co_await read_anew();
      if (!unlike.empty()) co_return unlike;
      const std::optional<std::string> closed = co_await walk_.let_none_in();
      if (!closed) break;
      if (!closed->empty()) co_return *closed;
    }
    co_return std::string();
  }

  snmp::Task<std::string> read_anew() {
    const milliseconds until = world_.network.now() + std::chrono::seconds(world_.fleet.mode_wait_s);
    Surveyed surveyed = co_await look();
    while (!surveyed && may_answer_later(*surveyed.error) && world_.network.now() < until) {
      co_await world_.network.sleep(milliseconds(1000));
      Surveyed again = co_await look();
      surveyed = std::move(again);
    }
    if (!surveyed) co_return "no answer to verification: " + surveyed.error->text;
    std::string stranger = hand_.stranger(surveyed.found);
    if (!stranger.empty()) co_return stranger;
    walk_.keep_copies_out(surveyed.found);
    if (off_air_by_us(surveyed.found))
      co_return std::string("read back, the unit is not in operate any more");
    co_await read_details(hand_.link(), *unit_.model, surveyed.found);
    judge(world_.fleet, unit_, surveyed.found, hand_.result());
    co_return unlike(goal_.compare(surveyed.found));
  }

  /// Empty, or what is not as desired.
  static std::string unlike(const Comparison& comparison) {
    if (comparison.agrees()) return {};
    if (comparison.differences.empty()) return comparison.obstacles.front();
    const Difference& first = comparison.differences.front();
    const std::string is = first.items.empty() ? "still there" : first.items.front().as_found_text();
    return fmt::format("read back, {} is {}, not as desired{}", first.title(), is,
                       comparison.differences.size() > 1
                           ? fmt::format(" (and {} more)", comparison.differences.size() - 1)
                           : "");
  }

  /// Nothing of ours was carried out, as far as it shows: what is another now than it was found stays as
  /// someone else made it.
  snmp::Task<void> leave_to_the_other_hand(std::string why) {
    Surveyed now = co_await read(hand_.link(), instances_of(*unit_.model, snapshot_));
    const std::vector<Difference> differences =
        now ? differences_to(unit_, snapshot_, now.found, "as found") : std::vector<Difference>();
    if (now && differences.empty()) co_return end(Outcome::refused, why + "; nothing was set");
    const std::string what = now ? differences.front().title() + " is another than it was found"
                                 : "it does not tell what it is like: " + now.error->text;
    end(Outcome::needs_attention,
        fmt::format("{}; {}. See: vergeset diff {}, then apply again", why, what, unit_.name));
  }

  /// Puts the unit back as found, in reverse, and verifies.
  snmp::Task<void> restore(std::string why) {
    if (makes(Mistake::failed_is_refused)) co_return end(Outcome::refused, why + "; nothing was set");
    if (walk_.touched().empty()) {
      co_await leave_to_the_other_hand(std::move(why));
      co_return;
    }
    const std::uint64_t line = hand_.add_restore(why);
    co_await hand_.on_disk(line);
    hand_.say("failed; going back to as found");
    const PutBack::Before before{goal_.wanted, found_};
    PutBack put_back(hand_, walk_, serial_, snapshot_, &before);
    const std::string failure = co_await put_back.run();
    if (failure.empty()) co_return end(Outcome::restored, why);
    const std::string mode = co_await put_back.last_word();
    end(Outcome::needs_attention,
        fmt::format("{}; putting it back failed too: {}.{} Mend the cause, then: vergeset rollback {} {}",
                    why, failure, mode, options_.change, unit_.name));
  }

  const World& world_;
  const fleet::Unit& unit_;
  const Goal& goal_;
  const SettleOptions& options_;
  InHand hand_;
  SerialNo serial_;
  Walk walk_;
  AsFound found_;
  records::Snapshot snapshot_;
  bool ends_off_air_ = false;
};

std::int64_t seconds_now(const World& world) {
  return world.clock.now() / 1000;
}

std::optional<snmp::Engine> remembered_engine(const World& world, const fleet::Unit& unit) {
  if (world.engines == nullptr) return std::nullopt;
  const auto known = world.engines->find(unit.name);
  if (!known) return std::nullopt;
  constexpr std::int64_t latest = 2147483647;  // of snmpEngineTime (RFC 3414 2.2)
  const std::int64_t time = std::clamp<std::int64_t>(seconds_now(world) - known->started, 0, latest);
  return snmp::Engine{known->id, known->boots, static_cast<std::uint32_t>(time)};
}

/// " (user vergeset, credential larkmoor)"
std::string user_of(const fleet::Fleet& fleet, const fleet::Unit& unit) {
  const auto credential = fleet.credentials.find(unit.credential);
  if (credential == fleet.credentials.end()) return {};
  if (credential->second.user.empty()) return fmt::format(" (credential {})", unit.credential);
  return fmt::format(" (user {}, credential {})", credential->second.user, unit.credential);
}

std::string is_another(const std::string& what, const std::string& heard, const std::string& since,
                       const std::string& was, const std::string& remedy, const std::string& unit) {
  return fmt::format("its {} is {}, since {} it was {}. {}: vergeset survey {} --accept-replacement", what,
                     heard, since, was, remedy, unit);
}

}  // namespace

bool refuses_user(snmp::Failure failure) {
  return failure == snmp::Failure::unknown_user || failure == snmp::Failure::wrong_auth ||
         failure == snmp::Failure::wrong_privacy || failure == snmp::Failure::bad_level ||
         failure == snmp::Failure::unknown_certificate;
}

std::optional<std::string> expected_engine(const World& world, const fleet::Unit& unit) {
  if (auto stated = smi::from_hex(unit.engine_id); stated && !stated->empty()) return *std::move(stated);
  return world.known == nullptr ? std::nullopt : world.known->expected(unit.name);
}

snmp::Task<snmp::Opened> open_link(const World& world, const fleet::Unit& unit) {
  return open_link(world, unit, expected_engine(world, unit));
}

snmp::Task<snmp::Opened> open_link(const World& world, const fleet::Unit& unit,
                                   std::optional<std::string> only_engine) {
  snmp::Endpoint endpoint;
  endpoint.host = unit.host;
  endpoint.port = unit.port;
  endpoint.timeout_ms = world.fleet.timeout_ms;
  endpoint.retries = world.fleet.retries;
  endpoint.engine = remembered_engine(world, unit);
  endpoint.fingerprint = unit.fingerprint;
  if (world.known != nullptr) endpoint.known_certificate = world.known->expected_certificate(unit.name);
  endpoint.only_engine = std::move(only_engine);
  std::shared_ptr<const snmp::Principal> principal = world.principal_of(unit);
  snmp::Opened opened = co_await world.network.open(std::move(endpoint), std::move(principal));
  if (!opened && refuses_user(opened.error.failure)) opened.error.text += user_of(world.fleet, unit);
  co_return opened;
}

bool is_stranger(snmp::Failure failure) {
  return failure == snmp::Failure::wrong_engine || failure == snmp::Failure::other_certificate;
}

std::string stranger_text(const World& world, const fleet::Unit& unit, const snmp::Error& error) {
  if (!is_stranger(error.failure)) return {};
  const auto known = world.known == nullptr ? std::nullopt : world.known->find(unit.name);
  if (error.failure == snmp::Failure::other_certificate) {
    if (!unit.fingerprint.empty()) {
      return fmt::format("its certificate is {}, the inventory says {}", error.certificate, unit.fingerprint);
    }
    if (!known) return error.text;
    return is_another("certificate", error.certificate, known->certificate_since, known->certificate,
                      "Where the unit was replaced, or given another certificate, accept it", unit.name);
  }
  const std::string heard = smi::to_hex(error.engine);
  if (!unit.engine_id.empty())
    return fmt::format("its engine id is {}, the inventory says {}", heard, unit.engine_id);
  if (!known) return error.text;
  return is_another("engine id", heard, known->since, smi::to_hex(known->engine),
                    "Where the unit was replaced, accept the new one", unit.name);
}

void know(const World& world, const fleet::Unit& unit, const snmp::Link& link, records::UnitLog& log) {
  if (world.known == nullptr) return;
  const auto before = world.known->find(unit.name);
  world.known->met(world.disk, unit.name, {link.engine().id, link.certificate()},
                   records::stamp(world.clock.now()));
  const auto now = world.known->find(unit.name);
  if (!before || !now) return;
  const auto accepted = [&](const char* what, const std::string& was, const std::string& is) {
    if (was.empty() || is.empty() || was == is) return;
    log.line(fmt::format("{} {} accepted by {} in place of {}", what, is, now->who, was));
  };
  accepted("engine id", smi::to_hex(before->engine), smi::to_hex(now->engine));
  accepted("certificate", before->certificate, now->certificate);
}

void remember_engine(const World& world, const fleet::Unit& unit, const snmp::Link& link) {
  if (world.engines == nullptr) return;
  const snmp::Engine engine = link.engine();
  if (!engine.id.empty()) {
    world.engines->note(unit.name, {engine.id, engine.boots, seconds_now(world) - engine.time});
  }
}

snmp::Task<UnitResult> settle(const World& world, const fleet::Unit& unit, const Goal& goal,
                              records::Journal& journal, const SettleOptions& options) {
  Settling settling(world, unit, goal, journal, options);
  UnitResult result = co_await settling.run();
  co_return result;
}

}  // namespace vergeset::change
