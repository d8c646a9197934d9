#include "snmp/udp_link.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace vergeset::snmp {

namespace {

constexpr double growth = 1.5;
constexpr double jitter = 0.2;

Request read_request(int command, std::vector<smi::Oid> oids, int repetitions = 0) {
  Request request;
  request.command = command;
  request.repetitions = repetitions;
  for (smi::Oid& oid : oids) request.varbinds.push_back({std::move(oid), {}});
  return request;
}

bool is_set(const Exchange& exchange) {
  return exchange.request.command == SNMP_MSG_SET;
}

}  // namespace

int Patience::tries(bool set) const {
  return set ? 1 : 1 + std::max(endpoint_.retries, 0);
}

std::chrono::milliseconds Patience::wait(bool set, int attempt) {
  const double first = std::max(endpoint_.timeout_ms, 1);
  const double base = set ? first * (1 + growth) : first * std::pow(growth, attempt);
  return std::chrono::milliseconds(
      std::lround(base * std::uniform_real_distribution<>(1, 1 + jitter)(random_)));
}

std::chrono::milliseconds Patience::longest() const {
  double sum = 0;
  // One try more than the most, for the one that a clock set anew adds.
  for (int attempt = 0; attempt <= std::max(tries(false), 2); ++attempt) {
    sum += endpoint_.timeout_ms * std::pow(growth, attempt) * (1 + jitter);
  }
  return std::chrono::milliseconds(std::lround(std::clamp(sum, 1.0, 1e9)));
}

UdpLink::UdpLink(EventLoop& loop, std::mt19937& random, Endpoint endpoint, const Address& address)
    : loop_(loop), endpoint_(std::move(endpoint)), patience_(endpoint_, random), session_(loop, address) {}

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
  auto error = session_.send(std::move(pdu), exchange, patience_.longest());
  if (error) return error;
  ++traffic_.requests;
  if (is_set(*exchange)) ++traffic_.sets;
  return {};
}

Error UdpLink::no_answer(const Exchange& exchange) const {
  if (!is_set(exchange) && exchange.garbled) return *exchange.garbled;
  const int tries = patience_.tries(is_set(exchange));
  return {Failure::no_answer, 0, 0,
          is_set(exchange) ? "no answer from " + session_.peer() + " to a SET; it may have been carried out"
                           : "no answer from " + session_.peer() + " to " + std::to_string(tries) +
                                 (tries == 1 ? " try" : " tries")};
}

Task<Answer> UdpLink::exchange(ExchangePtr exchange) {
  const bool set = is_set(*exchange);
  const int tries = patience_.tries(set);
  for (int attempt = 0; attempt < tries;) {
    if (auto error = send(exchange)) co_return *error;
    co_await loop_.wait(exchange->slot, std::chrono::steady_clock::now() + patience_.wait(set, attempt));
    if (exchange->answer) co_return std::move(*exchange->answer);
    if (!exchange->refused_by_clock) {
      ++attempt;
      continue;
    }
    // Refused before it was carried out, and the report has set our clock (RFC 3414 3.2.7): once more.
    if (exchange->generation > 0) {
      co_return Error{Failure::clock_window, 0, 0,
                      session_.peer() + " refuses its own SNMPv3 clock (usmStatsNotInTimeWindows)"};
    }
    exchange->refused_by_clock = false;
    ++exchange->generation;
  }
  co_return no_answer(*exchange);
}

Task<Answer> UdpLink::ask(Request request) {
  if (request.varbinds.empty()) co_return std::vector<VarBind>{};
  auto one = std::make_shared<Exchange>();
  one->request = std::move(request);
  Answer answer = co_await exchange(one);
  if (answer || answer.error().status != 0) {
    proven_ = true;
  } else if (answer.error().failure == Failure::no_answer && !proven_ && !is_set(*one)) {
    const bool wrong = co_await privacy_is_wrong();
    if (wrong) {
      co_return Error{
          Failure::wrong_privacy, 0, 0,
          session_.peer() + " answers in the clear only: the privacy secret or protocol is wrong"};
    }
  }
  co_return answer;
}

/// Agents drop what they decrypt to nonsense, and AES has no other sign of a wrong key: RFC 3826 knows
/// no decryption error for it. So where a unit was discovered but nothing private was ever answered,
/// its uptime is asked for in the clear. Any answer at all that authenticates tells.
Task<bool> UdpLink::privacy_is_wrong() {
  auto one = std::make_shared<Exchange>();
  one->in_the_clear = true;
  one->request.varbinds.push_back({smi::Oid{1, 3, 6, 1, 2, 1, 1, 3, 0}, {}});
  const Answer answer = co_await exchange(one);
  co_return answer || answer.error().status != 0;
}

Task<std::optional<Error>> UdpLink::discover(std::shared_ptr<const UserKeys> keys) {
  if (session_.failure()) co_return *session_.failure();
  auto one = std::make_shared<Exchange>();
  one->discovery = true;
  const Answer answer = co_await exchange(one);
  if (!answer) co_return answer.error();
  const Clock& clock = *one->clock;
  engine_ = {clock.engine_id(), clock.boots(), clock.time()};
  co_return session_.join(*keys, clock);
}

Task<Answer> UdpLink::get(std::vector<smi::Oid> oids) {
  return ask(read_request(SNMP_MSG_GET, std::move(oids)));
}

Task<Answer> UdpLink::get_next(std::vector<smi::Oid> oids) {
  return ask(read_request(SNMP_MSG_GETNEXT, std::move(oids)));
}

Task<Answer> UdpLink::get_bulk(std::vector<smi::Oid> oids, int repetitions) {
  return ask(read_request(SNMP_MSG_GETBULK, std::move(oids), repetitions));
}

Task<Answer> UdpLink::set(std::vector<VarBind> varbinds) {
  Request request;
  request.command = SNMP_MSG_SET;
  request.varbinds = std::move(varbinds);
  return ask(std::move(request));
}

}  // namespace vergeset::snmp
