#include "plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace vergeset::faults {

namespace {

using Kind = UnitTrouble::Kind;
using When = UnitTrouble::When;

constexpr std::array<const char*, 21> kind_names{
    "refuses a SET",
    "refuses a read",
    "answers a SET with tooBig",
    "acknowledges a SET and ignores it",
    "acknowledges a SET and leaves out an object",
    "carries a SET out in part",
    "stores another value",
    "carries a SET out and is not heard",
    "does not hear a SET",
    "gets a SET late",
    "falls silent",
    "reboots",
    "reboots and forgets what was SET",
    "stays in standby",
    "goes to fault",
    "loses a row",
    "has its SNMPv3 clock set",
    "counts its boots up",
    "takes another engine id",
    "is replaced by another unit",
    "is written to by another hand",
};

// Error-status of responses (RFC 3416 section 3) beside tooBig.
const std::vector<sim::Status> statuses{
    sim::Status::gen_err,       sim::Status::no_access,          sim::Status::wrong_type,
    sim::Status::wrong_length,  sim::Status::wrong_encoding,     sim::Status::wrong_value,
    sim::Status::no_creation,   sim::Status::inconsistent_value, sim::Status::resource_unavailable,
    sim::Status::commit_failed, sim::Status::undo_failed,        sim::Status::authorization_error,
    sim::Status::not_writable,  sim::Status::inconsistent_name};

Weather draw_weather(Dice& dice) {
  Weather weather;
  weather.latency_ms = static_cast<int>(dice.between(5, 300));
  if (dice.happens(0.5)) return weather;
  const double rough = dice.share();
  if (dice.happens(0.6)) weather.loss_there = 0.5 * rough * dice.share();
  if (dice.happens(0.6)) weather.loss_back = 0.5 * rough * dice.share();
  if (dice.happens(0.4)) weather.duplicate = 0.3 * dice.share();
  if (dice.happens(0.3)) weather.late = 0.2 * dice.share();
  if (dice.happens(0.5)) weather.spread_ms = static_cast<int>(dice.between(1, 600));
  return weather;
}

UnitTrouble draw_trouble(Dice& dice) {
  UnitTrouble trouble;
  trouble.kind = static_cast<Kind>(dice.below(kind_names.size()));
  trouble.number = static_cast<int>(dice.between(1, dice.happens(0.7) ? 6 : 14));
  trouble.status = dice.one_of(statuses);
  trouble.detail = dice.next();
  const double often = dice.share();
  if (often > 0.6) trouble.times = static_cast<int>(dice.between(2, 4));
  if (often > 0.9) trouble.times = UnitTrouble::always;
  if (trouble.kind == Kind::refuses_reads) trouble.when = When::before_read;
  if (trouble.kind < Kind::silent) return trouble;
  const double when = dice.share();
  trouble.when = when < 0.3   ? When::before_set
                 : when < 0.6 ? When::after_set
                 : when < 0.9 ? When::before_read
                              : When::at_time;
  if (trouble.when == When::before_read) trouble.number = static_cast<int>(dice.between(1, 25));
  if (trouble.when == When::at_time) trouble.number = static_cast<int>(dice.between(0, 20000));
  return trouble;
}

/// The notify port is asked for, and set on air or in standby as the rows of all tables are: only there does
/// the order of a sequence, and of its undoing, keep to what rows need.
bool port_goes_with_rows(const fleet::Unit& unit) {
  const schema::Object* const port = unit.model->object("rsuNotifyPort");
  return std::all_of(
      unit.desired.tables.begin(), unit.desired.tables.end(), [&](const fleet::DesiredTable& table) {
        return unit.desired.needs_standby(*table.table) == unit.desired.traits_of(*port).needs_standby;
      });
}

UnitPlan draw_unit(Dice& dice, const fleet::Unit& of) {
  UnitPlan unit;
  const double start = dice.share();
  unit.start = start < 0.15   ? UnitPlan::Start::factory
               : start < 0.45 ? UnitPlan::Start::factory_on_air
               : start < 0.55 ? UnitPlan::Start::as_desired
                              : UnitPlan::Start::as_desired_on_air;
  unit.differences = static_cast<int>(dice.between(0, 5));
  unit.detail = dice.next();
  const double slow = dice.share();
  unit.transition_ms = slow < 0.7 ? 1500 : slow < 0.8 ? 200 : slow < 0.97 ? 12000 : 90000;
  unit.offers_serial = dice.happens(0.8);
  unit.another = dice.happens(0.01);
  unit.rows_need_scalar = dice.happens(0.2) && port_goes_with_rows(of);
  if (dice.happens(0.05)) unit.most_octets = static_cast<std::size_t>(dice.between(484, 1400));
  return unit;
}

void draw_disk(Dice& dice, Plan& plan) {
  if (dice.happens(0.12)) {
    DiskTrouble trouble;
    trouble.kind = static_cast<DiskTrouble::Kind>(dice.below(4));
    trouble.at_write = static_cast<int>(dice.between(1, 45));
    trouble.writes = dice.happens(0.5) ? 1 : static_cast<int>(dice.between(2, 1000));
    plan.disk.push_back(trouble);
  }
  if (dice.happens(0.1)) plan.disk_slow_ms = static_cast<int>(dice.between(1, 4000));
}

void draw_kill(Dice& dice, Plan& plan) {
  if (!dice.happens(0.25)) return;
  if (dice.happens(0.5)) {
    plan.kill_at_event = static_cast<int>(dice.between(1, 250));
  } else {
    plan.kill_at_write = static_cast<int>(dice.between(1, 45));
  }
  plan.power_cut = dice.happens(0.5);
  if (dice.happens(0.3)) plan.kill_recovery_at_event = static_cast<int>(dice.between(1, 100));
}

/// How many troubles: most runs have few, so that what follows from one is seen; some have many.
int draw_count(Dice& dice) {
  const double share = dice.share();
  if (share < 0.1) return 0;
  if (share < 0.5) return 1;
  if (share < 0.75) return 2;
  if (share < 0.95) return static_cast<int>(dice.between(3, 5));
  return static_cast<int>(dice.between(6, 12));
}

}  // namespace

bool Plan::mild() const {
  if (!weather.calm() || !disk.empty() || killed()) return false;
  std::size_t troubles = 0;
  for (const UnitPlan& unit : units) {
    troubles += unit.troubles.size();
    if (unit.another || unit.transition_ms > 20000) return false;
    for (const UnitTrouble& one : unit.troubles) {
      const bool passes = one.kind <= Kind::held_back && one.kind != Kind::clips;
      if (!passes || one.times > 1) return false;
    }
  }
  return troubles <= 1;
}

Plan draw(std::uint64_t seed) {
  Dice dice(seed);
  Plan plan;
  plan.seed = seed;
  const auto& fleets = small_fleets();
  plan.fleet = fleets[dice.below(fleets.size())].get();
  plan.weather = draw_weather(dice);
  for (std::size_t i = 0; i < plan.fleet->fleet.units.size(); ++i)
    plan.units.push_back(draw_unit(dice, plan.fleet->fleet.units[i]));
  for (int left = draw_count(dice); left > 0; --left) {
    std::vector<UnitTrouble>& troubles = plan.units[dice.below(plan.units.size())].troubles;
    troubles.push_back(draw_trouble(dice));
    if (troubles.back().kind != Kind::held_back || dice.happens(0.5)) continue;
    // The next try is refused: nothing but the one that is late can still be carried out.
    UnitTrouble refusal = troubles.back();
    refusal.kind = Kind::refuses;
    troubles.push_back(refusal);
  }
  draw_disk(dice, plan);
  draw_kill(dice, plan);
  if (dice.happens(0.1)) plan.clock_steps = static_cast<int>(dice.between(1, 4));
  if (dice.happens(0.05)) plan.held_after_units = static_cast<int>(dice.between(0, 3));
  plan.remembers_engines = dice.happens(0.3);
  return plan;
}

std::string to_text(const UnitTrouble& one) {
  std::string text = kind_names.at(static_cast<std::size_t>(one.kind));
  if (one.kind == Kind::refuses || one.kind == Kind::refuses_reads)
    text += fmt::format(" ({})", sim::status_name(one.status));
  switch (one.when) {
    case When::before_set:
      text += fmt::format(", at SET {}", one.number);
      break;
    case When::after_set:
      text += fmt::format(", after SET {}", one.number);
      break;
    case When::before_read:
      text += fmt::format(", at read {}", one.number);
      break;
    case When::at_time:
      text += fmt::format(", after {} ms", one.number);
      break;
  }
  if (one.times == UnitTrouble::always) return text + ", always";
  if (one.times > 1) text += fmt::format(", {} times", one.times);
  return text;
}

std::vector<std::string> to_text(const Plan& plan) {
  static constexpr std::array<const char*, 4> starts{"factory, standby", "factory, on air", "as desired",
                                                     "as desired, on air"};
  static constexpr std::array<const char*, 4> disk_kinds{"is full", "fails", "tears a write",
                                                         "fails to sync"};
  std::vector<std::string> lines;
  lines.push_back(fmt::format("seed {}: {}{}", plan.seed, plan.fleet->about, plan.mild() ? " (mild)" : ""));
  const Weather& weather = plan.weather;
  lines.push_back(
      fmt::format("network: loss {:.0f} % there and {:.0f} % back, {:.0f} % twice, {:.0f} % late, {}+{} ms",
                  100 * weather.loss_there, 100 * weather.loss_back, 100 * weather.duplicate,
                  100 * weather.late, weather.latency_ms, weather.spread_ms));
  for (const DiskTrouble& one : plan.disk)
    lines.push_back(fmt::format("disk: {} at write {}, {} times",
                                disk_kinds.at(static_cast<std::size_t>(one.kind)), one.at_write, one.writes));
  if (plan.disk_slow_ms > 0) lines.push_back(fmt::format("disk: slow, up to {} ms", plan.disk_slow_ms));
  if (plan.clock_steps > 0) lines.push_back(fmt::format("the wall clock steps {} times", plan.clock_steps));
  if (plan.held_after_units >= 0)
    lines.push_back(fmt::format("interrupted once {} units have ended", plan.held_after_units));
  if (plan.remembers_engines) lines.push_back("engines are remembered");
  if (plan.kill_at_event > 0) lines.push_back(fmt::format("killed at event {}", plan.kill_at_event));
  if (plan.kill_at_write > 0) lines.push_back(fmt::format("killed at write {}", plan.kill_at_write));
  if (plan.killed() && plan.power_cut) lines.push_back("by a power cut");
  if (plan.killed() && plan.kill_recovery_at_event > 0)
    lines.push_back(fmt::format("recovery killed at event {}", plan.kill_recovery_at_event));
  for (std::size_t i = 0; i < plan.units.size(); ++i) {
    const UnitPlan& unit = plan.units[i];
    lines.push_back(fmt::format(
        "{}: {}, {} cells moved, {} ms between modes{}{}{}{}", plan.fleet->fleet.units[i].name,
        starts.at(static_cast<std::size_t>(unit.start)), unit.differences, unit.transition_ms,
        unit.offers_serial ? "" : ", no snmpSetSerialNo", unit.another ? ", another unit's address" : "",
        unit.rows_need_scalar ? ", takes rows only once the notify port is set" : "",
        unit.most_octets < 1472 ? fmt::format(", messages to {} octets", unit.most_octets) : ""));
    for (const UnitTrouble& one : unit.troubles) lines.push_back("  " + to_text(one));
  }
  return lines;
}

}  // namespace vergeset::faults
