#include "snmp/plain_channel.h"

#include <algorithm>
#include <random>
#include <utility>

#include "snmp/failure.h"

namespace vergeset::snmp {

namespace {

bool is_set(const Exchange& exchange) {
  return exchange.request.command == SNMP_MSG_SET;
}

}  // namespace

PlainChannel::PlainChannel(EventLoop& loop, std::unique_ptr<Wire> wire, std::string peer,
                           std::shared_ptr<const Principal> principal)
    : Channel(std::move(peer)),
      loop_(loop),
      wire_(std::move(wire)),
      principal_(std::move(principal)),
      // Not to be guessed by who would answer in the unit's place; 2^31 - 1 is the largest of RFC 3412 6.2.
      next_id_(static_cast<std::int32_t>(std::random_device()() & 0x3fffffffU)) {
  wire_->heard = [this](std::string_view octets) { hear(octets); };
  wire_->refused = [this](const Error& why) { refused(why); };
  wire_->closed = [this](const Error& why) { closed(why); };
}

std::string PlainChannel::written(netsnmp_pdu& pdu) const {
  if (principal_->model == Principal::Model::community) {
    return community_message(principal_->version, principal_->community.text(), pdu);
  }
  return tsm_message(context_engine_, pdu);
}

std::optional<Error> PlainChannel::send(Pdu pdu, const ExchangePtr& exchange,
                                        std::chrono::microseconds patience) {
  forget_old();
  pdu->reqid = next_id_++;
  std::string octets = written(*pdu);
  if (octets.empty()) return send_error(SNMPERR_TOO_LONG, 0, peer_);
  auto error = wire_->send(octets);
  wipe(octets);
  if (error) return error;
  const auto now = std::chrono::steady_clock::now();
  tries_.emplace(pdu->reqid, Try{exchange, {++exchange->sent, now}, now + patience});
  return std::nullopt;
}

void PlainChannel::forget_old() {
  const auto now = std::chrono::steady_clock::now();
  std::erase_if(tries_, [now](const auto& attempt) { return attempt.second.until <= now; });
}

bool PlainChannel::is_of_ours(const Message& message) const {
  if (principal_->model == Principal::Model::community) {
    return message.version == principal_->version && message.community == principal_->community.text();
  }
  return message.version == SNMP_VERSION_3 && message.security_model == tsm_model;
}

void PlainChannel::hear(std::string_view octets) {
  const std::optional<Message> message = read_message(octets);
  if (!message || !is_of_ours(*message)) {
    const Error garbled = garbled_error(SNMPERR_ASN_PARSE_ERR, peer_);
    for (auto& [id, attempt] : tries_) attempt.exchange->garbled = garbled;
    return;
  }
  // A report may know nothing of the request but its message's number (RFC 3412 7.1).
  const bool report = message->pdu->command == SNMP_MSG_REPORT;
  const auto found = tries_.find(report ? message->id : message->pdu->reqid);
  if (found == tries_.end()) return;
  const Try attempt = std::move(found->second);
  tries_.erase(found);
  answer(attempt, *message->pdu);
}

void PlainChannel::answer(const Try& attempt, const netsnmp_pdu& pdu) {
  Exchange& exchange = *attempt.exchange;
  if (exchange.answer || exchange.given_up) {
    ++too_late_;
    return;
  }
  timed(exchange, attempt.sent);
  if (pdu.command == SNMP_MSG_RESPONSE) {
    exchange.answer = read_response(exchange.request, pdu);
  } else if (pdu.command == SNMP_MSG_REPORT) {
    exchange.answer = report_error(pdu);
  } else {
    exchange.answer = Error{Failure::bad_answer, 0, 0, peer_ + " answered with no response"};
  }
  loop_.wake(exchange.slot);
}

/// A SET among others waits on: it may have been the one that got through.
void PlainChannel::refused(const Error& why) {
  const auto waiting = std::count_if(tries_.begin(), tries_.end(),
                                     [](const auto& one) { return !one.second.exchange->answer; });
  for (auto& [id, attempt] : tries_) {
    Exchange& exchange = *attempt.exchange;
    if (exchange.answer || (is_set(exchange) && waiting > 1)) continue;
    exchange.answer = why;
    loop_.wake(exchange.slot);
  }
}

void PlainChannel::closed(const Error& why) {
  for (auto& [id, attempt] : std::exchange(tries_, {})) {
    Exchange& exchange = *attempt.exchange;
    if (exchange.answer) continue;
    exchange.answer = is_set(exchange)
                          ? Error{Failure::no_answer, 0, 0,
                                  why.text + " before a SET was answered; it may have been carried out"}
                          : why;
    loop_.wake(exchange.slot);
  }
}

}  // namespace vergeset::snmp
