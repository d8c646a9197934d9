#include "agent.h"

#include <algorithm>

#include "change/message_size.h"
#include "sim/factory.h"

namespace vergeset::faults {

namespace {

const smi::Oid serial_number{1, 3, 6, 1, 6, 3, 1, 1, 6, 1, 0};  // snmpSetSerialNo.0 (RFC 3418)
constexpr std::int64_t time_window_ms = 150000;                 // RFC 3414 2.2.3
constexpr std::int64_t destroy = 6;                             // RFC 2579 RowStatus
constexpr std::int64_t create_and_wait = 5;
constexpr std::int64_t active = 1;

/// Another value that the object allows.
smi::Value other_value(const schema::Object& object, const schema::Model& model, const smi::Value& now,
                       std::uint32_t index, Dice& dice) {
  smi::Value value = sim::factory_value(object, model, 1, index);
  if (!(value == now) && dice.happens(0.5)) return value;
  value = now;
  if (now.type == smi::Type::octet_string) {
    if (object.syntax.form == smi::Form::display_string) value.octets = "other";
    if (object.syntax.form == smi::Form::psid) value.octets = std::string(1, '\x21');
    if (object.syntax.form == smi::Form::octets) value.octets = std::string("\x00\x12\x01\x55", 4);
    if (object.syntax.form == smi::Form::address_text) value.octets = "198.51.100.7";
    if (object.syntax.form == smi::Form::address_octets)
      value.octets = *smi::from_hex("00000000000000000000ffffc6336407");
    return value;
  }
  for (const std::int64_t by : {1, -1, 2}) {
    value.number = now.number + by;
    if (!smi::violation(object.syntax, value)) return value;
  }
  return now;
}

}  // namespace

Agent::Agent(const SmallFleet& fleet, std::size_t unit, const UnitPlan& plan, Watch& watch, Trace& trace,
             const std::function<milliseconds()>& now)
    : store(fleet.prototype(unit, plan.start >= UnitPlan::Start::as_desired, plan.transition_ms)),
      fleet_(fleet),
      unit_(unit),
      of_(fleet.fleet.units[unit]),
      plan_(plan),
      watch_(watch),
      trace_(trace),
      now_(now),
      objects_(spoken_of(of_)),
      at_start_(store) {
  engine_id_ = of_.engine_id.empty() ? "engine of " + of_.name : *smi::from_hex(of_.engine_id);
  engine_at_first_ = engine_id_;
  const schema::ModeRule& rule = *of_.model->mode;
  const bool on_air =
      plan.start == UnitPlan::Start::factory_on_air || plan.start == UnitPlan::Start::as_desired_on_air;
  put(*rule.asked, 0, smi::Value::of_number(rule.asked->syntax.wire(), on_air ? rule.operate : rule.standby));
  store.settle_mode(wall());
  move_cells();
  if (plan.another) become_another(plan.detail);
  watched_ = true;
  at_start_ = store;
  for_good_ = std::any_of(plan_.troubles.begin(), plan_.troubles.end(), [](const UnitTrouble& trouble) {
    const bool lasts =
        trouble.kind < Kind::silent || trouble.kind == Kind::sticks || trouble.kind == Kind::faults;
    return trouble.times == UnitTrouble::always && lasts;
  });
}

void Agent::put(const schema::Object& object, std::uint32_t index, const smi::Value& value) {
  const auto done = store.put_by_hand(object, index, value, wall());
  if (!done && trace_.on) trace_.say("{}: {}", of_.name, done.problem());
}

void Agent::move_cells() {
  Dice dice(plan_.detail);
  for (int left = plan_.differences; left > 0; --left) move_cell(dice, false);
}

/// One cell becomes another; a row goes, comes, or is taken out of service.
void Agent::move_cell(Dice& dice, bool by_other_hand) {
  const schema::Object& object = *dice.one_of(objects_);
  const schema::ModeRule& mode = *of_.model->mode;
  if (&object == mode.asked) {
    if (by_other_hand)
      put(object, 0,
          smi::Value::of_number(object.syntax.wire(), dice.happens(0.5) ? mode.operate : mode.standby));
    return;
  }
  const schema::Table* const table = object.table;
  if (table == nullptr) {
    if (object.name == "rsuID") return;  // another's name is another unit; see become_another()
    put(object, 0, other_value(object, *of_.model, store.get(object.oid.child(0), wall()), 0, dice));
    return;
  }
  std::vector<std::uint32_t> rows;
  for (auto next = store.get_next(object.oid, wall()); next && next->oid.within(object.oid);
       next = store.get_next(next->oid, wall()))
    rows.push_back(next->oid.back());
  const auto status = [&](std::uint32_t row, std::int64_t action) {
    put(*table->status, row, smi::Value::integer(action));
  };
  if (table->rows_are_made() && (rows.empty() || dice.happens(0.25))) {
    // A row that nobody asked for.
    const auto row = static_cast<std::uint32_t>(dice.between(50, 53));
    status(row, create_and_wait);
    for (const schema::Object* column : table->columns) {
      if (!column->settable() || column == table->status) continue;
      smi::Value value = sim::factory_value(*column, *of_.model, 1, row);
      if (column->syntax.form == smi::Form::psid) value.octets = "\x20";
      put(*column, row, value);
    }
    status(row, active);
    return;
  }
  if (rows.empty()) return;
  const std::uint32_t row = dice.one_of(rows);
  if (row >= 50) return;
  if (table->rows_are_made() && (&object == table->status || dice.happens(0.3))) {
    status(row, dice.happens(0.6) ? destroy : 2);  // notInService
    return;
  }
  if (&object == table->status) return;
  put(object, row, other_value(object, *of_.model, store.get(object.oid.child(row), wall()), row, dice));
}

void Agent::other(const char* what) {
  if (trace_.on) trace_.say("{} {}", of_.name, what);
  if (watched_ && !users) watch_.before_other(unit_);
}

void Agent::reboot(bool losing) {
  other(losing ? "reboots and forgets what was SET" : "reboots");
  const bool stays_another = another_;
  if (losing) {
    forgot_unheard_ = true;
    store = at_start_;
    users = users_at_start_;
  }
  users_at_start_ = users;
  store.reboot(wall());
  at_start_ = store;
  another_ = stays_another;
  ++boots_;
  set_by_ms_ -= 1000000;  // its engine time begins again
  silent_until_ = now_() + milliseconds(8000);
}

void Agent::lose_row(std::uint64_t detail) {
  Dice dice(detail);
  std::vector<std::pair<const schema::Object*, std::uint32_t>> rows;
  for (const schema::Object* object : objects_) {
    if (object->table == nullptr || object != object->table->status) continue;
    for (auto next = store.get_next(object->oid, wall()); next && next->oid.within(object->oid);
         next = store.get_next(next->oid, wall()))
      rows.emplace_back(object, next->oid.back());
  }
  if (rows.empty()) return;
  other("loses a row");
  const auto& [status, row] = dice.one_of(rows);
  put(*status, row, smi::Value::integer(destroy));
}

/// Another manager: it keeps to snmpSetSerialNo, as we do, where the unit has it.
void Agent::other_hand(std::uint64_t detail) {
  if (users) {
    trace_.say("{}: another manager counts its lock of users on", of_.name);
    users->count_lock_on();
    return;
  }
  other("is written to by another hand");
  if (plan_.offers_serial) {
    const smi::Value serial = store.get(serial_number, wall());
    store.commit({{serial_number, serial}}, wall());
  }
  Dice dice(detail);
  const int cells = static_cast<int>(dice.between(1, 2));
  for (int left = cells; left > 0; --left) move_cell(dice, true);
  watch_.other_hand_sets(unit_);
}

/// Another unit of the fleet where there is one, with its own name in it; otherwise one from the factory.
void Agent::become_another(std::uint64_t detail) {
  other("is replaced by another unit");
  const std::size_t count = fleet_.fleet.units.size();
  const std::size_t which = count > 1 ? (unit_ + 1 + detail % (count - 1)) % count : unit_;
  store = sim::Store(fleet_.prototype(which, count > 1, plan_.transition_ms));
  at_start_ = store;
  engine_id_ = "engine of another";
  // A factory unit in place of a broken one is what commissioning is for, unless the inventory has its
  // engine.
  another_ = count > 1 || !of_.engine_id.empty();
  boots_ = 1;
  if (watched_) watch_.engine_is_another(unit_, another_);
}

void Agent::strike(const UnitTrouble& trouble) {
  switch (trouble.kind) {
    case Kind::silent:
      if (trace_.on) trace_.say("{} falls silent", of_.name);
      silent_until_ = now_() + milliseconds(trouble.times == UnitTrouble::always
                                                ? 100000000
                                                : 500 + static_cast<int>(trouble.detail % 60000));
      return;
    case Kind::reboots:
    case Kind::reboots_losing:
      return reboot(trouble.kind == Kind::reboots_losing);
    case Kind::sticks:
    case Kind::faults:
      stuck_ = trouble.kind == Kind::sticks ? sim::Store::Stuck::standby : sim::Store::Stuck::fault;
      stuck_times_ = trouble.times;
      return;
    case Kind::row_vanishes:
      return lose_row(trouble.detail);
    case Kind::clock_jumps:
      if (trace_.on) trace_.say("{}: its SNMPv3 clock is set", of_.name);
      set_by_ms_ += 400000;
      return;
    case Kind::boots_up:
      if (trace_.on) trace_.say("{}: its boots go up", of_.name);
      ++boots_;
      return;
    case Kind::engine_changes:
      if (trace_.on) trace_.say("{}: its engine id is another", of_.name);
      engine_id_ = "engine of " + of_.name + ", another";
      if (watched_) watch_.engine_is_another(unit_, false);
      return;
    case Kind::replaced:
      if (!another_) become_another(trouble.detail);
      return;
    case Kind::other_hand:
      return other_hand(trouble.detail);
    default:
      return;
  }
}

/// Each time at another SET or read: what is sent once more after a report is the same one.
void Agent::happen(When when, int number) {
  for (UnitTrouble& trouble : plan_.troubles) {
    const bool due = trouble.kind >= Kind::silent && trouble.when == when && number >= trouble.number;
    if (!due || trouble.times <= 0) continue;
    const bool once = trouble.kind != Kind::other_hand && trouble.kind != Kind::reboots &&
                      trouble.kind != Kind::reboots_losing && trouble.kind != Kind::clock_jumps;
    strike(UnitTrouble(trouble));
    trouble.times = once ? 0 : std::min(trouble.times, 4) - 1;
    trouble.number = number + 1;
  }
}

std::vector<milliseconds> Agent::moments() const {
  std::vector<milliseconds> all;
  for (const UnitTrouble& trouble : plan_.troubles) {
    if (trouble.when == When::at_time) all.emplace_back(trouble.number);
  }
  return all;
}

void Agent::time_passes() {
  for (UnitTrouble& trouble : plan_.troubles) {
    if (trouble.when != When::at_time || trouble.number > now_().count() || trouble.number < 0) continue;
    trouble.number = -1;
    strike(UnitTrouble(trouble));
  }
}

bool Agent::broken_for_good() const {
  return another_ || for_good_;
}

void Agent::troubles_cease() {
  std::erase_if(plan_.troubles, [](const UnitTrouble& trouble) {
    return trouble.times != UnitTrouble::always || trouble.kind >= Kind::silent;
  });
  if (!for_good_) stuck_times_ = 0;
  silent_until_ = milliseconds(-1);
  plan_.most_octets = std::max<std::size_t>(plan_.most_octets, 1472);
}

Response Agent::discovered() const {
  Response response;
  response.kind = Response::Kind::discovered;
  response.engine_id = engine_id_;
  response.boots = boots_;
  response.set_by_ms = set_by_ms_;
  return response;
}

std::optional<Response> Agent::take(const Request& request, const Stamp& stamp) {
  if (now_() < silent_until_) return std::nullopt;
  if (request.kind == Request::Kind::discovery) return discovered();
  const bool is_set = request.kind == Request::Kind::set;
  if (is_set) {
    happen(When::before_set, sets_ + 1);
  } else {
    happen(When::before_read, reads_ + 1);
  }
  if (now_() < silent_until_) return std::nullopt;
  if (stamp.engine_id != engine_id_) {
    Response response = discovered();
    response.kind = Response::Kind::unknown_engine;
    return response;
  }
  // RFC 3414 3.2: the user (4), its digest (6), the time window (7), and then what it decrypts to (8).
  forgot_unheard_ = false;
  const auto refusal = not_welcome(stamp);
  if (refusal && *refusal != Response::Kind::wrong_privacy) {
    Response response = discovered();
    response.kind = *refusal;
    return response;
  }
  const std::int64_t apart = (now_() - stamp.sent).count() + set_by_ms_ - stamp.set_by_ms;
  if (stamp.boots != boots_ || apart > time_window_ms || apart < -time_window_ms) {
    Response response = discovered();
    response.kind = Response::Kind::not_in_time_window;
    return response;
  }
  if (refusal) {
    Response response = discovered();
    response.kind = *refusal;
    return response;
  }
  if (users && !users->may_read(stamp.keys->user)) return refuse(sim::Status::authorization_error, 0);
  if (users && is_set && !users->may_write(stamp.keys->user)) return refuse(sim::Status::no_access, 1);
  if (is_set) return set(request, stamp);
  return read(request);
}

std::optional<Response::Kind> Agent::not_welcome(const Stamp& stamp) const {
  if (!users) return std::nullopt;
  switch (users->lets_in(*stamp.keys)) {
    case UsmTables::Verdict::unknown_user:
      return Response::Kind::unknown_user;
    case UsmTables::Verdict::wrong_auth:
      return Response::Kind::wrong_auth;
    case UsmTables::Verdict::wrong_privacy:
      return Response::Kind::wrong_privacy;
    case UsmTables::Verdict::welcome:
      break;
  }
  return std::nullopt;
}

/// Of the store and of the users, whichever comes first.
std::optional<sim::VarBind> Agent::next(const smi::Oid& oid) const {
  auto of_store = store.get_next(oid, wall());
  if (!users) return of_store;
  const auto all = users->instances();
  const auto of_users = all.upper_bound(oid);
  if (of_users == all.end()) return of_store;
  if (of_store && of_store->oid < of_users->first) return of_store;
  return sim::VarBind{of_users->first, of_users->second};
}

std::optional<Response> Agent::set_users(const Request& request, const std::string& by) {
  std::vector<std::pair<smi::Oid, smi::Value>> set;
  for (const snmp::VarBind& one : request.set) set.emplace_back(one.oid, one.value);
  Response response;
  response.varbinds = request.set;
  if (const UnitTrouble* const trouble = due(Kind::refuses, sets_))
    return refuse(trouble->status, 1 + trouble->detail % set.size());
  if (due(Kind::ignores, sets_) != nullptr) return response;
  const bool heard = due(Kind::loses_response, sets_) == nullptr;
  const sim::Status status = users->set(set, by);
  if (status != sim::Status::no_error) {
    response = refuse(status, set.size());
  } else {
    if (trace_.on) trace_.say("{} carries the SET of its users out, lock {}", of_.name, users->lock());
    if (users_changed) users_changed();
  }
  happen(When::after_set, sets_);
  if (now_() < silent_until_ || !heard) return std::nullopt;
  return response;
}

std::optional<milliseconds> Agent::holds_back() {
  if (!plan_.offers_serial) return std::nullopt;
  const UnitTrouble* const trouble = due(Kind::held_back, sets_ + 1);
  if (trouble == nullptr) return std::nullopt;
  return milliseconds(4000 + static_cast<int>(trouble->detail % 136000));
}

UnitTrouble* Agent::due(Kind kind, int number) {
  for (UnitTrouble& trouble : plan_.troubles) {
    if (trouble.kind != kind || number < trouble.number || trouble.times <= 0) continue;
    if (trouble.times != UnitTrouble::always) --trouble.times;
    return &trouble;
  }
  return nullptr;
}

Response Agent::refuse(sim::Status status, std::size_t index) const {
  Response response;
  response.status = status;
  response.index = index;
  return response;
}

std::optional<Response> Agent::read(const Request& request) {
  ++reads_;
  watch_.read_is_answered(unit_, now_());
  if (const UnitTrouble* const trouble = due(Kind::refuses_reads, reads_))
    return refuse(trouble->status, 1 + trouble->detail % std::max<std::size_t>(1, request.once.size()));
  if (request.kind == Request::Kind::get) return get(request.once);
  return bulk(request);
}

smi::Value Agent::value_of(const smi::Oid& oid) const {
  if (!plan_.offers_serial && oid == serial_number)
    return smi::Value::of_number(smi::Type::no_such_object, 0);
  if (users && UsmTables::owns(oid)) {
    const auto all = users->instances();
    const auto found = all.find(oid);
    return found == all.end() ? smi::Value::of_number(smi::Type::no_such_instance, 0) : found->second;
  }
  return store.get(oid, wall());
}

Response Agent::get(const std::vector<smi::Oid>& oids) const {
  Response response;
  std::size_t octets = 0;
  for (const smi::Oid& oid : oids) {
    response.varbinds.push_back({oid, value_of(oid)});
    octets += change::varbind_octets(oid, response.varbinds.back().value);
  }
  if (octets > plan_.most_octets) return refuse(sim::Status::too_big, 0);
  return response;
}

/// As much of it as a message holds (RFC 3416 4.2.3).
Response Agent::bulk(const Request& request) const {
  Response response;
  std::size_t octets = 0;
  std::vector<smi::Oid> once = request.once;
  std::vector<smi::Oid> repeated = request.repeated;
  const auto step = [&](smi::Oid& oid) {
    auto found = next(oid);
    if (found && !plan_.offers_serial && found->oid == serial_number) found = next(found->oid);
    if (found) oid = found->oid;
    snmp::VarBind bind{
        oid, found ? std::move(found->value) : smi::Value::of_number(smi::Type::end_of_mib_view, 0)};
    octets += change::varbind_octets(bind.oid, bind.value);
    if (octets > plan_.most_octets) return false;
    response.varbinds.push_back(std::move(bind));
    return true;
  };
  for (smi::Oid& oid : once) {
    if (!step(oid)) return response;
  }
  for (int i = 0; i < request.repetitions; ++i) {
    for (smi::Oid& oid : repeated) {
      if (step(oid)) continue;
      return response.varbinds.empty() ? refuse(sim::Status::too_big, 0) : response;
    }
  }
  return response;
}

/// A maker's quirk (common practice, no source): message rows are taken while notifications have a port only.
bool Agent::objects_to_rows(const std::vector<sim::VarBind>& set) const {
  if (!plan_.rows_need_scalar) return false;
  const schema::Object* const port = of_.model->object("rsuNotifyPort");
  const bool rows = std::any_of(set.begin(), set.end(), [&](const sim::VarBind& one) {
    const schema::Object* const object = of_.model->object_at(one.oid);
    return object != nullptr && object->table != nullptr && object->table->rows_are_made();
  });
  if (!rows || port == nullptr) return false;
  return store.get(port->oid.child(0), wall()).number != 1162;
}

void Agent::carry_out(const std::vector<sim::VarBind>& set, const Stamp& stamp) {
  watch_.before_ours(unit_);
  const schema::ModeRule& mode = *of_.model->mode;
  const bool to_operate = std::any_of(set.begin(), set.end(), [&](const sim::VarBind& one) {
    return one.oid == mode.asked->oid.child(0) && one.value.number == mode.operate;
  });
  // A unit that operates is not stuck on its way there.
  const bool stuck = to_operate && stuck_times_ > 0 && !store.operating(wall());
  if (stuck) --stuck_times_;
  store.stick(stuck_, stuck ? 1 : 0);
  store.commit(set, wall());
  watch_.after_ours(unit_, set, stamp.read_before);
}

std::optional<Response> Agent::set(const Request& request, const Stamp& stamp) {
  ++sets_;
  if (due(Kind::loses_request, sets_) != nullptr) {
    trace_.say("{} does not hear the SET", of_.name);
    return std::nullopt;
  }
  if (users) return set_users(request, stamp.keys->user);
  std::vector<sim::VarBind> set;
  std::size_t octets = 0;
  for (const snmp::VarBind& one : request.set) {
    set.push_back({one.oid, one.value});
    octets += change::varbind_octets(one.oid, one.value);
  }
  if (octets > plan_.most_octets) return refuse(sim::Status::too_big, 0);
  for (std::size_t i = 0; i < set.size(); ++i) {
    if (!plan_.offers_serial && set[i].oid == serial_number) return refuse(sim::Status::not_writable, i + 1);
  }
  if (const UnitTrouble* const trouble = due(Kind::refuses, sets_)) {
    const std::size_t index = trouble->detail % set.size();
    if (set[index].oid == serial_number) watch_.does_not_count(unit_);
    return refuse(trouble->status, index + 1);
  }
  if (due(Kind::too_big, sets_) != nullptr) return refuse(sim::Status::too_big, 0);
  const sim::Verdict verdict = store.check(set, wall());
  if (!verdict.ok()) return refuse(verdict.status, verdict.index);
  if (objects_to_rows(set)) return refuse(sim::Status::inconsistent_value, 1);

  Response response;
  response.varbinds = request.set;
  std::vector<sim::VarBind> rest = set;
  const auto only_serial = [](const sim::VarBind& one) { return one.oid == serial_number; };
  if (const UnitTrouble* const trouble = due(Kind::ignores, sets_)) {
    std::erase_if(rest,
                  [&](const sim::VarBind& one) { return trouble->detail % 2 == 0 || !only_serial(one); });
  }
  if (const UnitTrouble* const trouble = due(Kind::ignores_one, sets_); trouble != nullptr && !rest.empty())
    rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(trouble->detail % rest.size()));
  if (const UnitTrouble* const trouble = due(Kind::clips, sets_)) {
    Dice dice(trouble->detail);
    for (sim::VarBind& one : rest) {
      const schema::Object* const object = of_.model->object_at(one.oid);
      if (only_serial(one) || object == nullptr || object->syntax.form == smi::Form::row_status ||
          object->traits.action || object == of_.model->mode->asked)
        continue;
      one.value = other_value(*object, *of_.model, one.value, one.oid.back(), dice);
      break;
    }
  }
  bool heard = true;
  if (const UnitTrouble* const trouble = due(Kind::in_part, sets_); trouble != nullptr && !rest.empty()) {
    // The first of it, or the last: a row without some of its columns.
    const auto count = static_cast<std::ptrdiff_t>(trouble->detail % rest.size());
    if ((trouble->detail >> 9U) % 2 == 0)
      rest.erase(rest.begin() + count, rest.end());
    else
      rest.erase(rest.begin(), rest.end() - count);
    response = refuse(trouble->detail % 3 == 0 ? sim::Status::undo_failed : sim::Status::commit_failed, 1);
    heard = (trouble->detail >> 8U) % 2 == 0;
  }
  if (due(Kind::loses_response, sets_) != nullptr) heard = false;
  const bool named = std::any_of(set.begin(), set.end(), only_serial);
  if (named && std::none_of(rest.begin(), rest.end(), only_serial)) watch_.does_not_count(unit_);
  if (!rest.empty()) carry_out(rest, stamp);
  happen(When::after_set, sets_);
  if (now_() < silent_until_ || !heard) return std::nullopt;
  return response;
}

}  // namespace vergeset::faults
