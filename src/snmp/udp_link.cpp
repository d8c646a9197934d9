#include "snmp/udp_link.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

namespace vergeset::snmp {

namespace {

constexpr double growth = 1.5;
constexpr double most_put_off = 0.1;

Request read_request(int command, std::vector<smi::Oid> oids) {
  Request request;
  request.command = command;
  request.varbinds.reserve(oids.size());
  for (smi::Oid& oid : oids) request.varbinds.push_back({std::move(oid), {}});
  return request;
}

bool is_set(const Exchange& exchange) {
  return exchange.request.command == SNMP_MSG_SET;
}

/// Whoever is asked (RFC 5343 2.1).
const std::string local_engine("\x80\x00\x00\x00\x06", 5);

bool waits(const Exchange& exchange) {
  return !exchange.answer && !exchange.refused_by_clock && !exchange.unknown_engine;
}

/// While a read waits for an answer that is overdue. A unit that some read waits for so takes no place among
/// those at once.
class Silence {
 public:
  Silence(Pace& pace, std::size_t& of_link) : pace_(pace), of_link_(of_link) {}
  ~Silence() {
    if (silent_ && --of_link_ == 0) pace_.speaks_again();
  }
  Silence(const Silence&) = delete;
  Silence& operator=(const Silence&) = delete;
  void falls() {
    if (std::exchange(silent_, true)) return;
    if (of_link_++ == 0) pace_.falls_silent();
  }

 private:
  Pace& pace_;
  std::size_t& of_link_;
  bool silent_ = false;
};

}  // namespace

Patience::Patience(const Endpoint& endpoint, std::mt19937& random, const Losses& of_all)
    : endpoint_(endpoint),
      of_all_(of_all),
      put_off_(std::uniform_real_distribution<>(0, most_put_off)(random)) {}

int Patience::tries(bool set) const {
  return set || endpoint_.once ? 1 : std::max({usual_tries(), losses_.tries(), of_all_.tries()});
}

double Patience::first_ms() const {
  const double stated = std::max(endpoint_.timeout_ms, 1);
  return std::clamp(round_trips_.most_ms().value_or(stated), stated, 4 * stated);
}

double Patience::try_ms(int attempt) const {
  return first_ms() * std::pow(growth, attempt);
}

/// A try beyond the usual ones is there for what is lost by chance, which waiting does not mend.
double Patience::further_ms() const {
  constexpr int fourth = 3;
  return try_ms(std::min(usual_tries() - 1, fourth));
}

std::chrono::microseconds Patience::wait(bool set, int attempt) const {
  const int last = set ? 0 : usual_tries() - 1;
  double ms = set ? try_ms(0) + try_ms(1) : try_ms(attempt);
  if (attempt > last) {
    ms = further_ms() * (1 + put_off_);
  } else if (attempt < last) {
    ms *= 1 + put_off_;
  } else {
    for (int before = 0; before < last; ++before) ms -= try_ms(before) * put_off_;
  }
  return std::chrono::microseconds(std::lround(ms * 1000));
}

std::chrono::milliseconds Patience::all() const {
  std::chrono::microseconds sum{0};
  for (int attempt = 0; attempt < tries(false); ++attempt) sum += wait(false, attempt);
  return std::chrono::ceil<std::chrono::milliseconds>(sum);
}

std::chrono::milliseconds Patience::longest() const {
  double sum = 0;
  // One try more than the most, for the one that a clock set anew adds.
  for (int attempt = 0; attempt <= std::max(usual_tries(), 2); ++attempt) {
    sum += try_ms(attempt) * (1 + most_put_off);
  }
  sum += std::max(Losses::most_tries - usual_tries(), 0) * further_ms() * (1 + most_put_off);
  return std::chrono::milliseconds(std::lround(std::clamp(sum, 1.0, 1e9)));
}

UdpLink::UdpLink(EventLoop& loop, std::mt19937& random, Endpoint endpoint, const Address& address)
    : loop_(loop),
      endpoint_(std::move(endpoint)),
      patience_(endpoint_, random, loop.losses()),
      address_(address),
      window_(loop) {}

Engine UdpLink::engine() const {
  if (session_ == nullptr || !session_->clock()) {
    if (told_.id.empty()) return {};
    Engine now = told_;
    const auto since = std::chrono::steady_clock::now() - told_at_;
    now.time += static_cast<std::uint32_t>(std::chrono::duration_cast<std::chrono::seconds>(since).count());
    return now;
  }
  const std::optional<Clock>& clock = session_->clock();
  return {clock->engine_id(), clock->boots(), clock->time()};
}

std::string UdpLink::certificate() const {
  return tls_ == nullptr ? std::string() : tls_->certificate();
}

Traffic UdpLink::traffic() const {
  Traffic traffic = traffic_;
  if (channel_) traffic.late += channel_->too_late();
  return traffic;
}

std::optional<Error> UdpLink::send(const ExchangePtr& exchange) {
  Pdu pdu;
  if (exchange->discovery) {
    pdu = make_discovery_pdu();
  } else {
    std::variant<Pdu, Error> made = make_pdu(exchange->request);
    if (auto* error = std::get_if<Error>(&made)) return std::move(*error);
    pdu = std::move(std::get<Pdu>(made));
    if (exchange->in_the_clear) pdu->securityLevel = SNMP_SEC_LEVEL_AUTHNOPRIV;
  }
  auto error = channel_->send(std::move(pdu), exchange, patience_.longest());
  if (error) return error;
  ++traffic_.requests;
  if (exchange->sent > 1) ++traffic_.again;
  if (is_set(*exchange)) ++traffic_.sets;
  return {};
}

Error UdpLink::no_answer(const Exchange& exchange) const {
  if (!is_set(exchange) && exchange.garbled) return *exchange.garbled;
  const int tries = patience_.tries(is_set(exchange));
  const bool unheard = principal_ && principal_->model == Principal::Model::community && !heard_;
  return {Failure::no_answer, 0, 0,
          is_set(exchange) ? "no answer from " + channel_->peer() + " to a SET; it may have been carried out"
                           : "no answer from " + channel_->peer() + " to " + std::to_string(tries) +
                                 (tries == 1 ? " try" : " tries") +
                                 (unheard ? "; a unit is silent to a community that it does not know" : "")};
}

/// What an answer that came says of the way.
void UdpLink::note(const Exchange& exchange) {
  if (exchange.round_trip.count() == 0) return;  // the system's word, not the unit's
  heard_ = true;
  const int lost = exchange.answered_try - 1;
  patience_.learn(exchange.round_trip, lost);
  loop_.losses().answered(lost);
  loop_.pace().answered(exchange.round_trip);
  if (exchange.late) ++traffic_.late;
  if (exchange.sent == 1) {
    window_.widen();
  } else {
    loop_.pace().lost(std::chrono::steady_clock::now());
  }
}

/// Sends until an answer comes or patience ends; `attempt` is the first of the tries that are left.
Task<Answer> UdpLink::exchange(ExchangePtr exchange, int attempt) {
  const bool set = is_set(*exchange);
  Silence silence(loop_.pace(), silent_);
  if (attempt > 0) silence.falls();
  while (attempt < patience_.tries(set)) {
    if (auto error = send(exchange)) co_return *error;
    const auto sent = std::chrono::steady_clock::now();
    const auto patience = patience_.wait(set, attempt);
    co_await loop_.wait(exchange->slot, sent + loop_.pace().overdue(patience));
    if (waits(*exchange)) {
      if (!set) silence.falls();
      co_await loop_.wait(exchange->slot, sent + patience);
    }
    if (exchange->answer) {
      note(*exchange);
      co_return std::move(*exchange->answer);
    }
    const bool told = exchange->refused_by_clock || exchange->unknown_engine;
    if (!told) {
      ++attempt;
      window_.narrow();
    }
    if (exchange->refused_by_clock) assumed_ = false;
    if (assumed_ && !exchange->discovery) {
      auto error = co_await discover_once(attempt);
      if (error) co_return *error;
      attempt = std::min(attempt, patience_.tries(set) - 1);
    } else if (exchange->unknown_engine) {
      co_return Error{
          Failure::bad_answer, 0, 0,
          channel_->peer() + " has another engine id now (usmStatsUnknownEngineIDs); open it anew"};
    } else if (exchange->generation > 0 && told) {
      co_return Error{Failure::clock_window, 0, 0,
                      channel_->peer() + " refuses its own SNMPv3 clock (usmStatsNotInTimeWindows)"};
    }
    if (told) {
      // Refused before it was carried out, and the report or the discovery has set our clock (RFC 3414
      // 3.2.3, 3.2.7): once more.
      exchange->refused_by_clock = exchange->unknown_engine = false;
      ++exchange->generation;
    }
  }
  exchange->given_up = true;
  ++given_up_;
  if (tls_ != nullptr) tls_->doubt();
  co_return no_answer(*exchange);
}

/// Of requests that travel side by side the first to doubt the remembered engine asks; the others wait for
/// what it finds. A unit that was asked `attempt` times already has as many tries fewer to be discovered.
Task<std::optional<Error>> UdpLink::discover_once(int attempt) {
  if (doubt_.under_way) {
    const auto slot = EventLoop::make_slot();
    doubt_.waiting.push_back(slot);
    co_await loop_.wait(slot, EventLoop::Moment::max());
    co_return doubt_.error;
  }
  doubt_.under_way = true;
  doubt_.error = co_await discover(attempt);
  assumed_ = doubt_.under_way = false;
  for (const auto& slot : std::exchange(doubt_.waiting, std::vector<EventLoop::SlotPtr>())) loop_.wake(slot);
  co_return doubt_.error;
}

Task<Answer> UdpLink::ask(Request request) {
  if (request.varbinds.empty()) co_return std::vector<VarBind>{};
  auto one = std::make_shared<Exchange>();
  one->request = std::move(request);
  // A SET that is lost is not sent again, so it does not go to an engine that may be gone.
  if (is_set(*one) && assumed_) {
    auto error = co_await discover_once(0);
    if (error) co_return *error;
  }
  if (tls_ != nullptr) {
    auto error = co_await connect();
    if (error) co_return *error;
  }
  const std::size_t given_up_before = given_up_;
  co_await window_.enter();
  const Window::Place place(window_);
  // What waited behind a request that was given up would find the unit as silent.
  if (given_up_ != given_up_before) {
    Error unsent = no_answer(*one);
    unsent.unsent = true;
    co_return unsent;
  }
  Answer answer = co_await exchange(one);
  if (answer || answer.error().status != 0) {
    proven_ = true;
    assumed_ = false;
  } else if (answer.error().failure == Failure::no_answer && has_privacy() && found_ && !proven_ &&
             !is_set(*one) && !endpoint_.once) {
    const bool wrong = co_await privacy_is_wrong();
    if (wrong) {
      co_return Error{
          Failure::wrong_privacy, 0, 0,
          channel_->peer() + " answers in the clear only: the privacy secret or protocol is wrong"};
    }
  }
  co_return answer;
}

bool UdpLink::has_privacy() const {
  return principal_->model == Principal::Model::user && principal_->level == SNMP_SEC_LEVEL_AUTHPRIV;
}

/// Agents drop what they decrypt to nonsense, and AES has no other sign of a wrong key: RFC 3826 knows
/// no decryption error for it. So where a unit was discovered but nothing private was ever answered,
/// its uptime is asked for in the clear, and where that is answered in private: it may be a large answer that
/// was lost.
Task<bool> UdpLink::privacy_is_wrong() {
  const bool in_the_clear = co_await tells_its_uptime(true);
  if (!in_the_clear) co_return false;
  const bool in_private = co_await tells_its_uptime(false);
  proven_ = in_private;
  co_return !in_private;
}

/// Any answer at all that authenticates tells.
Task<bool> UdpLink::tells_its_uptime(bool in_the_clear) {
  auto one = std::make_shared<Exchange>();
  one->in_the_clear = in_the_clear;
  one->request.varbinds.push_back({smi::Oid{1, 3, 6, 1, 2, 1, 1, 3, 0}, {}});
  const Answer answer = co_await exchange(one);
  co_return answer || answer.error().status != 0;
}

/// Past the window: the requests that fill it may be those that are not answered.
Task<bool> UdpLink::answers_little() {
  if (!heard_) co_return false;
  const bool answered = co_await tells_its_uptime(false);
  co_return answered;
}

Task<std::optional<Error>> UdpLink::begin(std::shared_ptr<const Principal> principal) {
  principal_ = std::move(principal);
  if (!principal_) return begin_as_user();
  switch (principal_->model) {
    case Principal::Model::user:
      return begin_as_user();
    case Principal::Model::certificate:
      return begin_by_certificate();
    case Principal::Model::community:
      break;
  }
  return begin_with_community();
}

Task<std::optional<Error>> UdpLink::begin_with_community() {
  channel_ = std::make_unique<PlainChannel>(loop_, std::make_unique<UdpWire>(loop_, address_), address_.text,
                                            principal_);
  co_return std::nullopt;
}

Task<std::optional<Error>> UdpLink::begin_as_user() {
  auto session = std::make_unique<Session>(loop_, address_);
  session_ = session.get();
  channel_ = std::move(session);
  if (session_->failure()) co_return *session_->failure();
  if (const auto& known = endpoint_.engine;
      known && !known->id.empty() && known->id.size() <= SNMP_MAX_ENG_SIZE && !is_stranger(known->id)) {
    assumed_ = true;
    co_return session_->join(*principal_, Clock(known->id, known->boots, known->time));
  }
  auto error = co_await discover(0);
  co_return error;
}

bool UdpLink::is_stranger(const std::string& engine_id) const {
  return endpoint_.only_engine && *endpoint_.only_engine != engine_id;
}

Error UdpLink::wrong_engine(const std::string& heard) const {
  Error error{Failure::wrong_engine, 0, 0,
              channel_->peer() + " has the engine id " + smi::to_hex(heard) + ", not " +
                  smi::to_hex(*endpoint_.only_engine) + "; it is not spoken to"};
  error.engine = heard;
  return error;
}

Task<std::optional<Error>> UdpLink::connect() {
  if (tls_->connected()) co_return std::nullopt;
  auto error = co_await tls_->connect(patience_.all());
  co_return error;
}

/// A unit that shook hands and then answers nothing took our certificate, but knows no user for it (RFC
/// 6353 5.3.2).
Task<std::optional<Error>> UdpLink::begin_by_certificate() {
  ExpectedCertificate expected{endpoint_.host, endpoint_.fingerprint, endpoint_.known_certificate};
  auto wire = std::make_unique<TlsWire>(loop_, address_, principal_->certified, std::move(expected));
  tls_ = wire.get();
  auto channel = std::make_unique<PlainChannel>(loop_, std::move(wire), address_.text, principal_);
  PlainChannel& plain = *channel;
  channel_ = std::move(channel);
  auto error = co_await connect();
  if (error) co_return error;
  error = co_await ask_engine(plain);
  if (error && (error->failure == Failure::no_answer || error->failure == Failure::unreachable)) {
    error->failure = Failure::unknown_certificate;
    error->text =
        channel_->peer() +
        " shook hands with our certificate and then answers nothing: it knows no user for it; map the "
        "certificate to a user there (RFC 6353, snmpTlstmCertToTSNTable)";
  }
  co_return error;
}

/// Requests name whose objects they mean, so the engine id is asked for first, by itself (RFC 5343 3.2).
/// Where it is not told, the unit is asked as whoever it is.
Task<std::optional<Error>> UdpLink::ask_engine(PlainChannel& plain) {
  const smi::Oid group{1, 3, 6, 1, 6, 3, 10, 2, 1};
  plain.speak_to(local_engine);
  auto id = std::make_shared<Exchange>();
  id->request.varbinds.push_back({group.child(1).child(0), {}});
  const Answer named = co_await exchange(id);
  if (!named && named.error().status == 0) co_return named.error();
  if (!named || named.varbinds()[0].value.type != smi::Type::octet_string) co_return std::nullopt;
  const std::string& octets = named.varbinds()[0].value.octets;
  if (octets.empty() || octets.size() > SNMP_MAX_ENG_SIZE) co_return std::nullopt;
  if (is_stranger(octets)) co_return wrong_engine(octets);
  plain.speak_to(octets);

  auto started = std::make_shared<Exchange>();
  started->request.varbinds.push_back({group.child(2).child(0), {}});
  started->request.varbinds.push_back({group.child(3).child(0), {}});
  const Answer clock = co_await exchange(started);
  if (!clock && clock.error().status == 0) co_return clock.error();
  told_.id = octets;
  if (clock) {
    told_.boots = static_cast<std::uint32_t>(clock.varbinds()[0].value.number);
    told_.time = static_cast<std::uint32_t>(clock.varbinds()[1].value.number);
  }
  told_at_ = std::chrono::steady_clock::now();
  co_return std::nullopt;
}

Task<std::optional<Error>> UdpLink::discover(int attempt) {
  auto one = std::make_shared<Exchange>();
  one->discovery = true;
  const Answer answer = co_await exchange(one, std::min(attempt, patience_.tries(false) - 1));
  if (!answer) co_return answer.error();
  if (is_stranger(one->clock->engine_id())) co_return wrong_engine(one->clock->engine_id());
  found_ = true;
  if (!principal_) {
    told_ = {one->clock->engine_id(), one->clock->boots(), one->clock->time()};
    told_at_ = std::chrono::steady_clock::now();
    co_return std::nullopt;
  }
  co_return session_->join(*principal_, *one->clock);
}

Task<Answer> UdpLink::get(std::vector<smi::Oid> oids) {
  return ask(read_request(SNMP_MSG_GET, std::move(oids)));
}

Task<Answer> UdpLink::get_next(std::vector<smi::Oid> oids) {
  return ask(read_request(SNMP_MSG_GETNEXT, std::move(oids)));
}

Task<Answer> UdpLink::get_bulk(std::vector<smi::Oid> once, std::vector<smi::Oid> repeated, int repetitions) {
  const std::size_t singles = once.size();
  std::move(repeated.begin(), repeated.end(), std::back_inserter(once));
  Request request = read_request(SNMP_MSG_GETBULK, std::move(once));
  request.non_repeaters = static_cast<int>(singles);
  request.repetitions = repetitions;
  return ask(std::move(request));
}

Task<Answer> UdpLink::set(std::vector<VarBind> varbinds) {
  Request request;
  request.command = SNMP_MSG_SET;
  request.varbinds = std::move(varbinds);
  return ask(std::move(request));
}

}  // namespace vergeset::snmp
