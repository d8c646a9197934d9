#include "fault_network.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace vergeset::faults {

namespace {

constexpr double growth = 1.5;  // as snmp/udp_link.cpp has it

snmp::Error no_answer(bool set) {
  return {snmp::Failure::no_answer, 0, 0,
          set ? "no answer to a SET; it may have been carried out" : "no answer"};
}

snmp::Error another_engine() {
  return {snmp::Failure::bad_answer, 0, 0,
          "it has another engine id now (usmStatsUnknownEngineIDs); open it anew"};
}

snmp::Error wrong_engine(const std::string& heard) {
  snmp::Error error{snmp::Failure::wrong_engine, 0, 0, "it has another engine id than it is to have"};
  error.engine = heard;
  return error;
}

snmp::Error wrong_clock() {
  return {snmp::Failure::clock_window, 0, 0, "it refuses its own SNMPv3 clock (usmStatsNotInTimeWindows)"};
}

std::string name_of(Response::Kind kind) {
  switch (kind) {
    case Response::Kind::unknown_engine:
      return "unknownEngineID";
    case Response::Kind::unknown_user:
      return "unknownUserName";
    case Response::Kind::wrong_auth:
      return "wrongDigest";
    case Response::Kind::wrong_privacy:
      return "decryptionError";
    default:
      return "notInTimeWindow";
  }
}

snmp::Answer answer_of(const Response& response) {
  if (response.kind == Response::Kind::unknown_user)
    return snmp::Error{snmp::Failure::unknown_user, 0, 0, "the unit does not know this user"};
  if (response.kind == Response::Kind::wrong_auth)
    return snmp::Error{snmp::Failure::wrong_auth, 0, 0, "the unit does not take the authentication key"};
  if (response.kind == Response::Kind::wrong_privacy)
    return snmp::Error{snmp::Failure::wrong_privacy, 0, 0, "the unit does not take the privacy key"};
  if (response.status == sim::Status::no_error) return response.varbinds;
  const int status = static_cast<int>(response.status);
  snmp::Error error{snmp::Failure::error_status, status, response.index,
                    std::string(snmp::status_name(status))};
  if (response.status == sim::Status::too_big) error.failure = snmp::Failure::too_big;
  if (response.status == sim::Status::no_access || response.status == sim::Status::authorization_error)
    error.failure = snmp::Failure::no_access;
  return error;
}

}  // namespace

/// One request of a link, from its first try to its answer.
struct FaultNetwork::Exchange {
  Request request;
  std::size_t unit = 0;
  std::uint64_t program = 0;
  std::coroutine_handle<> waiting;
  std::uint64_t wait = 0;  ///< which of its waits is under way
  bool open = true;
  std::optional<Response> answer;
  bool refused_by_clock = false;
  bool unknown_engine = false;
  int generation = 0;
  FaultLink* link = nullptr;

  bool is_set() const { return request.kind == Request::Kind::set; }
  void end() { open = false; }
};

struct FaultNetwork::Sleep {
  Sleep(FaultNetwork& over, milliseconds time) : network(over), duration(time) {}
  FaultNetwork& network;
  milliseconds duration;
  bool await_ready() const { return false; }
  void await_suspend(std::coroutine_handle<> handle) {
    auto event = network.event(Event::Kind::resume, network.time_ + duration);
    event->handle = handle;
    network.add(std::move(event));
  }
  void await_resume() const {}
};

/// Until the exchange has an answer, or is told off, or the time is up.
struct FaultNetwork::Wait {
  Wait(FaultNetwork& over, ExchangePtr of, milliseconds time)
      : network(over), exchange(std::move(of)), duration(time) {}
  FaultNetwork& network;
  ExchangePtr exchange;
  milliseconds duration;
  bool await_ready() const { return false; }
  void await_suspend(std::coroutine_handle<> handle) {
    exchange->waiting = handle;
    auto event = network.event(Event::Kind::timeout, network.time_ + duration);
    event->exchange = exchange;
    event->wait = ++exchange->wait;
    network.add(std::move(event));
  }
  void await_resume() const {}
};

class FaultNetwork::FaultLink : public snmp::Link {
 public:
  FaultLink(FaultNetwork& network, std::size_t unit, const snmp::Endpoint& endpoint,
            std::shared_ptr<const snmp::Principal> principal)
      : network_(network), unit_(unit), endpoint_(endpoint), principal_(std::move(principal)) {}

  snmp::Task<std::optional<snmp::Error>> begin() {
    if (endpoint_.engine && (!endpoint_.only_engine || *endpoint_.only_engine == endpoint_.engine->id)) {
      stamp_.engine_id = endpoint_.engine->id;
      stamp_.boots = endpoint_.engine->boots;
      assumed_ = true;
      co_return join();
    }
    auto error = co_await discover(0);
    co_return error;
  }

  snmp::Task<snmp::Answer> get(std::vector<smi::Oid> oids) override {
    Request request;
    request.kind = Request::Kind::get;
    request.once = std::move(oids);
    snmp::Answer answer = co_await read(std::move(request));
    co_return answer;
  }
  snmp::Task<snmp::Answer> get_next(std::vector<smi::Oid> oids) override {
    Request request;
    request.kind = Request::Kind::get_bulk;
    request.repeated = std::move(oids);
    request.repetitions = 1;
    snmp::Answer answer = co_await read(std::move(request));
    co_return answer;
  }
  using Link::get_bulk;
  snmp::Task<snmp::Answer> get_bulk(std::vector<smi::Oid> once, std::vector<smi::Oid> repeated,
                                    int repetitions) override {
    Request request;
    request.kind = Request::Kind::get_bulk;
    request.once = std::move(once);
    request.repeated = std::move(repeated);
    request.repetitions = repetitions;
    snmp::Answer answer = co_await read(std::move(request));
    co_return answer;
  }
  snmp::Task<snmp::Answer> set(std::vector<snmp::VarBind> varbinds) override {
    if (varbinds.empty()) co_return varbinds;  // as snmp/udp_link.cpp: nothing is sent
    if (assumed_) {
      auto error = co_await discover(0);
      if (error) co_return *error;
    }
    network_.watch_.time_is(network_.time_);
    network_.watch_.set_leaves(unit_, varbinds);
    ++traffic_.sets;
    Request request;
    request.kind = Request::Kind::set;
    request.set = varbinds;
    auto one = make(std::move(request));
    snmp::Answer answer = co_await exchange(one, 0);
    network_.watch_.time_is(network_.time_);
    network_.watch_.set_ends(unit_, answer, varbinds);
    co_return answer;
  }
  snmp::Engine engine() const override { return {stamp_.engine_id, stamp_.boots, 0}; }
  snmp::Traffic traffic() const override { return traffic_; }

  Stamp stamp() const {
    Stamp stamp = stamp_;
    stamp.sent = network_.time_;
    stamp.read_before = network_.watch_.last_read(unit_);
    return stamp;
  }
  /// What an agent says of its engine is taken over (RFC 3414 3.2.7).
  void learn(const Response& response) {
    stamp_.boots = response.boots;
    stamp_.set_by_ms = response.set_by_ms;
  }

 private:
  ExchangePtr make(Request request) {
    auto one = std::make_shared<Exchange>();
    one->request = std::move(request);
    one->unit = unit_;
    one->program = network_.program_;
    one->link = this;
    return one;
  }

  snmp::Task<snmp::Answer> read(Request request) {
    auto one = make(std::move(request));
    snmp::Answer answer = co_await exchange(one, 0);
    network_.watch_.time_is(network_.time_);
    network_.watch_.read_ends(unit_, static_cast<bool>(answer));
    co_return answer;
  }

  milliseconds patience(bool set, int attempt) const {
    const double first = endpoint_.timeout_ms;
    return milliseconds(std::lround(set ? first * (1 + growth) : first * std::pow(growth, attempt)));
  }

  snmp::Task<snmp::Answer> exchange(ExchangePtr one, int attempt) {
    const bool set = one->is_set();
    const int tries = set ? 1 : 1 + endpoint_.retries;
    const bool discovery = one->request.kind == Request::Kind::discovery;
    while (attempt < tries) {
      ++traffic_.requests;
      network_.send(one);
      Wait wait(network_, one, patience(set, attempt));
      co_await wait;
      if (one->answer) {
        one->end();
        if (!discovery) assumed_ = false;
        co_return answer_of(*one->answer);
      }
      const bool told = one->refused_by_clock || one->unknown_engine;
      if (!told) ++attempt;
      if (one->refused_by_clock) assumed_ = false;
      if (assumed_ && !discovery) {
        auto error = co_await discover(std::min(attempt, tries - 1));
        if (error) {
          one->end();
          co_return *error;
        }
        attempt = std::min(attempt, tries - 1);
      } else if (one->unknown_engine) {
        one->end();
        co_return another_engine();
      } else if (one->generation > 0 && told) {
        one->end();
        co_return wrong_clock();
      }
      if (told) {
        one->refused_by_clock = one->unknown_engine = false;
        ++one->generation;
      }
    }
    one->end();
    co_return no_answer(set);
  }

  snmp::Task<std::optional<snmp::Error>> discover(int attempt) {
    Request request;
    request.kind = Request::Kind::discovery;
    auto one = make(std::move(request));
    const snmp::Answer answer = co_await exchange(one, attempt);
    if (!answer) co_return answer.error();
    if (endpoint_.only_engine && *endpoint_.only_engine != one->answer->engine_id)
      co_return wrong_engine(one->answer->engine_id);
    stamp_.engine_id = one->answer->engine_id;
    learn(*one->answer);
    assumed_ = false;
    co_return join();
  }

  /// The principal's keys at the engine that was found, where users are simulated.
  std::optional<snmp::Error> join() {
    if (!principal_) return std::nullopt;
    auto keys = snmp::local_keys(*principal_, stamp_.engine_id);
    if (!keys) return snmp::Error{snmp::Failure::wrong_auth, 0, 0, keys.problem()};
    stamp_.keys = std::make_shared<const snmp::LocalKeys>(*std::move(keys));
    return std::nullopt;
  }

  FaultNetwork& network_;
  std::size_t unit_;
  snmp::Endpoint endpoint_;
  std::shared_ptr<const snmp::Principal> principal_;
  Stamp stamp_;
  bool assumed_ = false;
  snmp::Traffic traffic_;
};

snmp::Task<snmp::Opened> FaultNetwork::open(snmp::Endpoint endpoint,
                                            std::shared_ptr<const snmp::Principal> principal) {
  const std::size_t unit = unit_at.at(endpoint.host);
  auto link = std::make_unique<FaultLink>(*this, unit, endpoint, std::move(principal));
  auto error = co_await link->begin();
  snmp::Opened opened;
  if (error) {
    opened.error = std::move(*error);
  } else {
    opened.link = std::move(link);
  }
  co_return opened;
}

snmp::Task<void> FaultNetwork::sleep(milliseconds duration) {
  Sleep sleeping(*this, duration);
  co_await sleeping;
}

std::unique_ptr<FaultNetwork::Event> FaultNetwork::event(Event::Kind kind, milliseconds at) {
  auto made = std::make_unique<Event>();
  made->kind = kind;
  made->at = std::max(at, time_);
  made->number = ++numbers_;
  made->program = program_;
  return made;
}

void FaultNetwork::add(std::unique_ptr<Event> event) {
  events_.push_back(std::move(event));
  std::push_heap(events_.begin(), events_.end(), Later());
}

std::unique_ptr<FaultNetwork::Event> FaultNetwork::next() {
  std::pop_heap(events_.begin(), events_.end(), Later());
  std::unique_ptr<Event> event = std::move(events_.back());
  events_.pop_back();
  time_ = std::max(time_, event->at);
  watch_.time_is(time_);
  return event;
}

/// How long a datagram takes. To a unit without snmpSetSerialNo, where nothing else tells an old SET from a
/// new one, none is held back beyond its request's patience.
milliseconds FaultNetwork::travel(bool is_set, std::size_t unit) {
  std::int64_t ms = weather_.latency_ms;
  if (weather_.spread_ms > 0) ms += dice_.between(0, weather_.spread_ms);
  const bool may_be_late = !is_set || (*agents)[unit].offers_serial();
  if (weather_.late > 0 && may_be_late && dice_.happens(weather_.late))
    ms += dice_.happens(0.5) ? dice_.between(1000, 20000) : dice_.between(1000, 160000);
  return milliseconds(ms);
}

void FaultNetwork::send(const ExchangePtr& exchange) {
  int copies = dice_.happens(weather_.loss_there) ? 0 : 1;
  if (weather_.duplicate > 0 && dice_.happens(weather_.duplicate)) ++copies;
  if (trace_.on && copies != 1 && exchange->is_set())
    trace_.say("  the SET is {}", copies == 0 ? "lost" : "doubled");
  milliseconds at = time_ + travel(exchange->is_set(), exchange->unit);
  for (; copies > 0; --copies) {
    auto made = event(Event::Kind::to_unit, at);
    made->exchange = exchange;
    made->stamp = exchange->link->stamp();
    add(std::move(made));
    if (!exchange->is_set() || (*agents)[exchange->unit].offers_serial())
      at = time_ + travel(exchange->is_set(), exchange->unit);
  }
}

void FaultNetwork::deliver(Event& arrived) {
  const ExchangePtr& exchange = arrived.exchange;
  if (const auto later = exchange->is_set() ? (*agents)[exchange->unit].holds_back() : std::nullopt) {
    trace_.say("  the SET is held back for {} ms", later->count());
    auto again = event(Event::Kind::to_unit, time_ + *later);
    again->exchange = exchange;
    again->stamp = arrived.stamp;
    return add(std::move(again));
  }
  if (trace_.on && exchange->is_set())
    trace_.say("  the SET arrives at {}{}", exchange->unit + 1, exchange->open ? "" : ", late");
  std::optional<Response> response = (*agents)[exchange->unit].take(exchange->request, arrived.stamp);
  if (trace_.on && exchange->is_set()) {
    trace_.say("  {}", !response ? "it gives no answer"
                       : response->kind != Response::Kind::answer
                           ? name_of(response->kind)
                           : std::string(sim::status_name(response->status)));
  }
  if (!response) return;
  const auto answer = std::make_shared<const Response>(std::move(*response));
  int copies = dice_.happens(weather_.loss_back) ? 0 : 1;
  if (weather_.duplicate > 0 && dice_.happens(weather_.duplicate)) ++copies;
  for (; copies > 0; --copies) {
    auto made = event(Event::Kind::to_us, time_ + travel(false, exchange->unit));
    made->exchange = exchange;
    made->response = answer;
    made->program = exchange->program;
    add(std::move(made));
  }
}

void FaultNetwork::arrive(Event& arrived) {
  Exchange& exchange = *arrived.exchange;
  if (arrived.program != program_ || !exchange.open || exchange.answer || !exchange.waiting) return;
  switch (arrived.response->kind) {
    case Response::Kind::answer:
    case Response::Kind::discovered:
    case Response::Kind::unknown_user:
    case Response::Kind::wrong_auth:
    case Response::Kind::wrong_privacy:
      exchange.answer = *arrived.response;
      break;
    case Response::Kind::not_in_time_window:
      exchange.link->learn(*arrived.response);
      exchange.refused_by_clock = true;
      break;
    case Response::Kind::unknown_engine:
      exchange.unknown_engine = true;
      break;
  }
  ++exchange.wait;
  std::exchange(exchange.waiting, nullptr).resume();
}

void FaultNetwork::handle(Event& event) {
  switch (event.kind) {
    case Event::Kind::resume:
      if (event.program == program_) event.handle.resume();
      return;
    case Event::Kind::timeout:
      if (event.program == program_ && event.wait == event.exchange->wait && event.exchange->waiting)
        std::exchange(event.exchange->waiting, nullptr).resume();
      return;
    case Event::Kind::to_unit:
      return deliver(event);
    case Event::Kind::to_us:
      return arrive(event);
    case Event::Kind::moment:
      return (*agents)[event.unit].time_passes();
  }
}

void FaultNetwork::remind(std::size_t unit, milliseconds at) {
  auto made = event(Event::Kind::moment, at);
  made->unit = unit;
  add(std::move(made));
}

void FaultNetwork::check_killed() {
  ++count_of_events_;
  ++events_of_program_;
  const bool killed = kill_at_event > 0 && events_of_program_ >= kill_at_event;
  const bool endless = events_of_program_ > most_events || time_ > longest;
  if (endless) watch_.breaks(6, "the change does not end");
  if (!killed && !endless) return;
  kill_at_event = 0;
  if (dies) dies();
  throw Killed{};
}

void FaultNetwork::run_each(std::size_t count, const std::function<snmp::Task<void>(std::size_t)>& begin,
                            std::size_t at_once) {
  std::vector<snmp::Task<void>> tasks;
  std::vector<std::size_t> live;
  const auto end_some = [&] {
    std::erase_if(live, [&](std::size_t i) {
      if (!tasks[i].done()) return false;
      tasks[i].take();
      return true;
    });
  };
  while (tasks.size() < count || !live.empty()) {
    while (tasks.size() < count && live.size() < at_once) {
      live.push_back(tasks.size());
      tasks.push_back(begin(tasks.size()));
      tasks.back().start();
    }
    end_some();
    if (live.size() < at_once && tasks.size() < count) continue;
    if (live.empty() || events_.empty()) break;
    check_killed();
    const std::unique_ptr<Event> event = next();
    handle(*event);
    end_some();
  }
}

void FaultNetwork::program_dies() {
  ++program_;
}

void FaultNetwork::program_begins() {
  events_of_program_ = 0;
}

void FaultNetwork::pass(milliseconds duration) {
  const milliseconds until = time_ + duration;
  while (!events_.empty() && events_.front()->at <= until) {
    const std::unique_ptr<Event> event = next();
    handle(*event);
  }
  time_ = std::max(time_, until);
  watch_.time_is(time_);
}

}  // namespace vergeset::faults
