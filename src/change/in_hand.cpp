#include "change/in_hand.h"

#include <fmt/format.h>

#include <utility>

#include "change/identify.h"
#include "change/keep.h"
#include "change/logged_link.h"
#include "change/serial_no.h"
#include "checks/health.h"
#include "records/change_record.h"
#include "records/mistake.h"

namespace vergeset::change {

namespace {

using records::makes;
using records::Mistake;

std::string to_json(const Step& step, const AsFound& found) {
  std::string sets = "[";
  for (const Assignment& one : step.assignments) {
    const smi::Value& was = found.at(one.oid);
    records::JsonLine set;
    set.text("object", one.name).text("oid", one.oid.str());
    set.text("type", smi::type_name(one.value.type)).text("value", smi::exact_text(one.value));
    set.text("was_type", smi::type_name(was.type)).text("was", smi::exact_text(was));
    sets += (sets.size() > 1 ? "," : "") + set.str();
  }
  return sets + "]";
}

}  // namespace

InHand::InHand(const World& world, const fleet::Unit& unit, records::Journal& journal,
               const SettleOptions& options)
    : world_(world),
      unit_(unit),
      journal_(journal),
      options_(options),
      log_(world.disk, world.clock, unit.name,
           options.purpose.empty() ? "change " + records::change_name(options.change) : options.purpose) {
  result_.unit = unit.name;
}

void InHand::end(Outcome outcome, std::string what) {
  result_.outcome = outcome;
  result_.what = std::move(what);
}

std::string InHand::unit_id(const AsFound& found) const {
  const schema::Object* object = unit_.model->identity.unit_id;
  return object != nullptr ? found.at(object->oid.child(0)).octets : std::string();
}

void InHand::known_as(const AsFound& found) {
  engine_id_ = smi::to_hex(found.engine_id);
  known_ = true;
}

std::string InHand::another_engine(const std::string& heard) const {
  return fmt::format("another unit answers at its address: engine id {}, was {}", heard, engine_id_);
}

std::string InHand::stranger(const AsFound& found) const {
  if (makes(Mistake::any_unit)) return {};
  const std::string engine = smi::to_hex(found.engine_id);
  const std::string name = unit_id(found);
  const bool same_name = known_ && name == unit_.name;
  if (!engine_id_.empty() && engine != engine_id_ && !same_name) return another_engine(engine);
  const auto wrong = wrong_unit(world_.fleet, unit_, found);
  return wrong ? "another unit answers at its address: " + *wrong : std::string();
}

void InHand::say(const std::string& what) const {
  if (options_.watcher.says) options_.watcher.says(unit_, what);
}

void InHand::records_fail(const records::DiskError& error, bool in_standby) {
  result_.records_failed = true;
  if (!announced_) return end(Outcome::refused, fmt::format("{}; no SET was sent", error.what()));
  result_.unfinished = true;
  end(Outcome::needs_attention,
      fmt::format("{}; it was left after {} of {} steps{}. Free the disk, then: vergeset recover",
                  error.what(), result_.steps_done, result_.sequence.steps.size(),
                  in_standby ? ", in standby" : ""));
}

bool InHand::claimed() {
  if (!world_.claim || claim_) return true;
  auto claim = world_.claim(unit_);
  if (!claim) {
    end(Outcome::refused, claim.problem());
    return false;
  }
  claim_ = *std::move(claim);
  return true;
}

std::optional<std::string> InHand::only_engine() const {
  if (engine_id_.empty()) return expected_engine(world_, unit_);
  const auto id = smi::from_hex(known_ ? unit_.engine_id : engine_id_);
  return id && !id->empty() ? std::optional(*id) : std::nullopt;
}

void InHand::not_reached(const snmp::Error& error) {
  met_stranger_ = is_stranger(error.failure);
  if (!met_stranger_) return end(Outcome::no_answer, error.text);
  if (!engine_id_.empty() && error.failure == snmp::Failure::wrong_engine)
    return end(Outcome::refused, another_engine(smi::to_hex(error.engine)));
  end(Outcome::refused, "wrong unit: " + stranger_text(world_, unit_, error));
}

snmp::Task<bool> InHand::open() {
  if (!claimed()) co_return false;
  snmp::Opened opened = co_await open_link(world_, unit_, only_engine());
  if (!opened) {
    log_.line("no link: " + opened.error.text);
    not_reached(opened.error);
    co_return false;
  }
  link_ = std::make_unique<LoggedLink>(std::move(opened.link), log_, *unit_.model);
  co_return true;
}

snmp::Task<std::optional<snmp::Error>> InHand::open_as(std::shared_ptr<const snmp::Principal> principal) {
  link_.reset();
  World as = world_;
  as.principal_of = [principal](const fleet::Unit&) { return principal; };
  snmp::Opened opened = co_await open_link(as, unit_);
  if (!opened) {
    log_.line("no link: " + opened.error.text);
    co_return opened.error;
  }
  link_ = std::make_unique<LoggedLink>(std::move(opened.link), log_, *unit_.model);
  co_return std::optional<snmp::Error>();
}

Wanted InHand::identity() const {
  Wanted wanted = wanted_of(world_.fleet, unit_);
  wanted.tables.clear();
  wanted.octets.clear();
  wanted.instances.push_back(SerialNo::instance());
  return wanted;
}

snmp::Task<Surveyed> InHand::look(Wanted wanted) {
  Surveyed surveyed = co_await survey(*link_, std::move(wanted));
  surveyed.found.taken = records::stamp(world_.clock.now());
  co_return surveyed;
}

std::string InHand::path(const std::string& name) const {
  return records::change_path(options_.change, name);
}

snmp::Task<void> InHand::on_disk(std::uint64_t line) {
  co_await world_.network.sleep(std::chrono::milliseconds(0));
  if (journal_.on_disk() >= line) co_return;
  try {
    journal_.sync();
  } catch (const records::DiskError&) {
    if (!makes(Mistake::disk_is_fine)) throw;
  }
}

records::JsonLine InHand::event(std::string_view name) const {
  records::JsonLine line;
  line.text("event", name).text("unit", unit_.name);
  return line;
}

std::uint64_t InHand::add_begin(const records::Snapshot& snapshot, const std::string& engine_id,
                                std::size_t steps) {
  world_.disk.write_whole(path(unit_.name + ".snapshot.yaml"), to_yaml(snapshot), records::Durable::contents);
  journal_.with_file();
  records::JsonLine line = event("begin unit");
  line.text("engine_id", smi::to_hex(engine_id));
  if (world_.known != nullptr) {
    if (const auto was = world_.known->replaced(unit_.name)) line.text("replaces", smi::to_hex(*was));
  }
  return journal_.add(line.number("steps", static_cast<std::int64_t>(steps)));
}

std::uint64_t InHand::add_step(std::string_view name, std::size_t number, const Step& step,
                               const AsFound& found, bool numbered) {
  announced_ = true;
  records::JsonLine line = event(name);
  line.number("number", static_cast<std::int64_t>(number))
      .text("about", step.about)
      .flag("in_standby", step.standby)
      .flag("numbered", numbered);
  if (step.kind == Step::Kind::go_standby) line.text("mode", "standby");
  if (step.kind == Step::Kind::go_operate) line.text("mode", "operate");
  return journal_.add(line.json("set", to_json(step, found)));
}

std::uint64_t InHand::add_key_begin(const std::string& engine_id, std::size_t steps,
                                    const std::string& giver) {
  records::JsonLine line = event("begin unit");
  line.text("engine_id", smi::to_hex(engine_id)).number("steps", static_cast<std::int64_t>(steps));
  if (!giver.empty()) line.text("giver", giver);
  return journal_.add(line);
}

std::uint64_t InHand::add_key_step(std::string_view name, std::size_t number, const std::string& about) {
  announced_ = true;
  return journal_.add(event(name).number("number", static_cast<std::int64_t>(number)).text("about", about));
}

std::uint64_t InHand::add_restore(const std::string& why) {
  log_.line("failed: " + why + "; going back to as found");
  return journal_.add(event("restore").text("why", why));
}

std::uint64_t InHand::add_outcome() {
  log_.line("ends " + std::string(outcome_name(result_.outcome)) +
            (result_.what.empty() ? "" : ": " + result_.what));
  return journal_.add(event("outcome")
                          .text("outcome", outcome_name(result_.outcome))
                          .text("what", result_.what)
                          .number("off_air_ms", result_.off_air.count()));
}

void InHand::add_result(std::size_t number, const std::string& failure) {
  journal_.add(event("result")
                   .number("number", static_cast<std::int64_t>(number))
                   .text("result", failure.empty() ? "done" : failure));
}

snmp::Task<void> InHand::close() {
  if (result_.unfinished) co_return;
  try {
    co_await on_disk(add_outcome());
    log_.flush();
  } catch (const records::DiskError&) {
    result_.records_failed = result_.unfinished = true;
    result_.what +=
        std::string(result_.what.empty() ? "" : "; ") + "its outcome is not on record: vergeset recover";
  }
}

snmp::Task<void> keep_as_left(InHand& hand, const records::Snapshot& snapshot) {
  const fleet::Unit& unit = hand.unit();
  Surveyed surveyed = co_await read(hand.link(), instances_of(*unit.model, snapshot));
  if (!surveyed) co_return;
  surveyed.found.taken = records::stamp(hand.world().clock.now());
  try {
    hand.world().disk.write_whole(hand.path(unit.name + ".left.yaml"),
                                  to_yaml(retake(unit, snapshot, surveyed.found)), records::Durable::no);
  } catch (const records::DiskError&) {
    hand.result().records_failed = true;
  }
}

void judge(const fleet::Fleet& fleet, const fleet::Unit& unit, const AsFound& found, UnitResult& result) {
  result.health = checks::health(fleet, unit, as_read(*unit.model, found));
}

}  // namespace vergeset::change
