#include "snmp/notification_receiver.h"

#include <openssl/crypto.h>
#include <openssl/sha.h>

#include <algorithm>
#include <cstring>
#include <utility>

#include "snmp/ber.h"
#include "snmp/local_engine.h"
#include "snmp/message.h"

namespace vergeset::snmp {

namespace {

constexpr std::int64_t window_s = 150;            // RFC 3414 2.2.3
constexpr std::uint32_t most_boots = 2147483647;  // RFC 3414 2.2.2: such an engine is in no window
constexpr std::size_t most_seen = 128;            ///< notifications of one unit within its window
constexpr Bucket::Rate address_rate{200, 50};     ///< of one address, before anything is computed
constexpr Bucket::Rate total_rate{20000, 10000};  ///< ten thousand units that start anew at once, twice

constexpr unsigned char response_tag = 0xa2;  // RFC 3416 3
constexpr unsigned char first_trap_tag = 0xa4;
constexpr unsigned char inform_tag = 0xa6;
constexpr unsigned char trap_tag = 0xa7;
constexpr unsigned char report_tag = 0xa8;
constexpr unsigned char counter32_tag = 0x41;
constexpr unsigned char object_id_tag = 0x06;

// The counters of RFC 3414 section 5 that Reports tell of: 1.3.6.1.6.3.15.1.1.N.0
constexpr std::uint32_t unsupported_levels = 1;
constexpr std::uint32_t not_in_windows = 2;
constexpr std::uint32_t unknown_users = 3;
constexpr std::uint32_t unknown_engines = 4;
constexpr std::uint32_t wrong_digests = 5;
constexpr std::uint32_t decryption_errors = 6;

std::uint32_t counter_of(Dropped reason) {
  switch (reason) {
    case Dropped::wrong_level:
      return unsupported_levels;
    case Dropped::outside_window:
      return not_in_windows;
    case Dropped::unknown_user:
      return unknown_users;
    case Dropped::wrong_digest:
      return wrong_digests;
    case Dropped::not_decrypted:
      return decryption_errors;
    default:
      return unknown_engines;
  }
}

std::uint64_t print_of(std::string_view octets) {
  std::array<unsigned char, SHA256_DIGEST_LENGTH> digest{};
  SHA256(reinterpret_cast<const unsigned char*>(octets.data()), octets.size(), digest.data());
  std::uint64_t print = 0;
  std::memcpy(&print, digest.data(), sizeof print);
  return print;
}

bool is_user(const Sender& sender) {
  return sender.principal && sender.principal->model == Principal::Model::user;
}

bool same_secret(std::string_view a, std::string_view b) {
  return a.size() == b.size() && CRYPTO_memcmp(a.data(), b.data(), a.size()) == 0;
}

unsigned char tag_of(std::string_view value) {
  return value.empty() ? 0 : static_cast<unsigned char>(value.front());
}

/// A Response has the request-id and the variable bindings of the inform (RFC 3416 4.2.7), so it is the same
/// octets with another tag.
std::string response_to(std::string_view whole, std::string_view pdu) {
  std::string response(whole);
  response[static_cast<std::size_t>(pdu.data() - whole.data())] = static_cast<char>(response_tag);
  return response;
}

std::int64_t whole_seconds(NotificationReceiver::Time time) {
  return time.count() / 1000;
}

}  // namespace

std::string_view dropped_name(Dropped reason) {
  constexpr std::array<std::string_view, dropped_kinds> names{"unknown sender",  "over the rate",
                                                              "malformed",       "unknown engine",
                                                              "unknown user",    "other security level",
                                                              "wrong digest",    "outside the time window",
                                                              "not decrypted",   "wrong community",
                                                              "no handshake",    "other certificate",
                                                              "no notification", "repeated"};
  return names[static_cast<std::size_t>(reason)];
}

NotificationReceiver::NotificationReceiver(std::vector<Sender> senders, Own own)
    : senders_(std::move(senders)), states_(senders_.size()), own_(std::move(own)) {
  for (std::uint32_t i = 0; i < senders_.size(); ++i) {
    if (!senders_[i].address.empty()) by_address_[senders_[i].address].push_back(i);
    if (!senders_[i].engine_id.empty()) by_engine_.emplace(senders_[i].engine_id, i);
  }
}

NotificationReceiver::Taken NotificationReceiver::drop(Dropped reason, std::optional<std::size_t> sender) {
  ++dropped_[static_cast<std::size_t>(reason)];
  Taken taken;
  taken.dropped = reason;
  taken.sender = sender;
  return taken;
}

NotificationReceiver::Taken NotificationReceiver::take(std::string_view datagram, const std::string& from,
                                                       bool cut, Time now) {
  ++received_;
  const auto found = by_address_.find(from);
  if (found == by_address_.end()) return drop(Dropped::unknown_sender);
  const Candidates& here = found->second;
  const std::optional<std::size_t> only =
      here.size() == 1 ? std::optional<std::size_t>(here.front()) : std::nullopt;
  if (!states_[here.front()].rate.take(address_rate, now) || !all_.take(total_rate, now))
    return drop(Dropped::over_rate, only);
  const auto version = cut ? std::nullopt : version_of(datagram);
  if (!version) return drop(Dropped::malformed, only);
  Taken taken =
      *version == SNMP_VERSION_3 ? take_third(datagram, here, now) : take_community(datagram, here, now);
  if (!taken.sender) taken.sender = only;
  return taken;
}

NotificationReceiver::Taken NotificationReceiver::take_third(std::string_view datagram,
                                                             const Candidates& here, Time now) {
  const auto message = read_usm_message(datagram);
  if (!message) return drop(Dropped::malformed);
  if (message->engine_id.empty() || message->engine_id == own_.engine_id)
    return take_inform(*message, here, now);
  for (const std::uint32_t one : here) {
    if (senders_[one].engine_id == message->engine_id) return take_trap(*message, one, now);
  }
  return refuse(Dropped::unknown_engine, *message, here, {}, now);
}

/// RFC 3414 3.2 7b, of a non-authoritative engine, with its notion of the time of the other.
bool NotificationReceiver::in_window(State& state, const UsmMessage& message, Time now) {
  const bool later =
      message.boots > state.boots || (message.boots == state.boots && message.time > state.latest);
  if (!state.clock_known || later) {
    state.boots = message.boots;
    state.latest = message.time;
    state.stamped = now;
    state.clock_known = true;
  }
  state.told = true;
  if (state.boots == most_boots || message.boots < state.boots) return false;
  const std::int64_t notion = state.latest + whole_seconds(now - state.stamped);
  return static_cast<std::int64_t>(message.time) >= notion - window_s;
}

NotificationReceiver::Taken NotificationReceiver::take_trap(const UsmMessage& message, std::size_t sender,
                                                            Time now) {
  if (!is_user(senders_[sender])) return drop(Dropped::unknown_user, sender);
  const Principal& principal = *senders_[sender].principal;
  if (message.user != principal.user) return drop(Dropped::unknown_user, sender);
  if (message.level != principal.level) return drop(Dropped::wrong_level, sender);
  UsmKeys keys;
  if (!localize(principal, message.engine_id, keys)) return drop(Dropped::unknown_user, sender);
  if (message.level >= SNMP_SEC_LEVEL_AUTHNOPRIV) {
    if (!is_authentic(message, keys)) return drop(Dropped::wrong_digest, sender);
    if (!in_window(states_[sender], message, now)) return drop(Dropped::outside_window, sender);
  }
  std::optional<std::string> plain;
  if (message.level == SNMP_SEC_LEVEL_AUTHPRIV) {
    plain = decrypted(message, keys);
    if (!plain) return drop(Dropped::not_decrypted, sender);
  }
  const auto scoped = read_scoped_pdu(plain ? std::string_view(*plain) : message.data);
  if (!scoped) return drop(plain ? Dropped::not_decrypted : Dropped::malformed, sender);
  if (tag_of(scoped->pdu) != trap_tag) return drop(Dropped::other_pdu, sender);
  return take_pdu({sender, scoped->pdu, scoped->whole, window_s + 1}, now);
}

/// Which of those whose keys fit it is. Where one key is known to several units, only the address and the
/// engine that the context is of tell them apart.
std::optional<std::size_t> NotificationReceiver::author(const Candidates& proven,
                                                        std::string_view context_engine) const {
  for (const std::uint32_t one : proven) {
    if (!context_engine.empty() && senders_[one].engine_id == context_engine) return one;
  }
  if (by_engine_.count(std::string(context_engine)) > 0 || proven.size() != 1) return std::nullopt;
  return proven.front();
}

NotificationReceiver::Taken NotificationReceiver::take_inform(const UsmMessage& message,
                                                              const Candidates& here, Time now) {
  if (message.engine_id.empty()) {
    if (!message.reportable) return drop(Dropped::malformed);
    ++discoveries_;
    Taken taken;
    taken.report = report(message, unknown_engines, discoveries_, {}, now);
    return taken;
  }
  Candidates named;
  Candidates level;
  Candidates proven;
  UsmKeys keys;
  for (const std::uint32_t one : here) {
    if (!is_user(senders_[one]) || senders_[one].principal->user != message.user) continue;
    UsmKeys own_keys;
    if (!localize(*senders_[one].principal, own_.engine_id, own_keys)) continue;
    named.push_back(one);
    if (message.level != own_keys.level) continue;
    level.push_back(one);
    if (message.level >= SNMP_SEC_LEVEL_AUTHNOPRIV && !is_authentic(message, own_keys)) continue;
    if (proven.empty() && !localize(*senders_[one].principal, own_.engine_id, keys)) continue;
    proven.push_back(one);
  }
  if (named.empty()) return refuse(Dropped::unknown_user, message, here, keys, now);
  if (level.empty()) return refuse(Dropped::wrong_level, message, here, keys, now);
  if (proven.empty()) return refuse(Dropped::wrong_digest, message, here, keys, now);
  if (message.level >= SNMP_SEC_LEVEL_AUTHNOPRIV && !in_own_window(message, now))
    return refuse(Dropped::outside_window, message, here, keys, now);
  std::optional<std::string> plain;
  if (message.level == SNMP_SEC_LEVEL_AUTHPRIV) plain = decrypted(message, keys);
  const bool is_private = message.level == SNMP_SEC_LEVEL_AUTHPRIV;
  if (is_private && !plain) return refuse(Dropped::not_decrypted, message, here, keys, now);
  const auto scoped = read_scoped_pdu(plain ? std::string_view(*plain) : message.data);
  if (!scoped)
    return refuse(is_private ? Dropped::not_decrypted : Dropped::malformed, message, here, keys, now);
  const auto sender = author(proven, scoped->context_engine);
  if (!sender) return drop(Dropped::unknown_engine);
  if (tag_of(scoped->pdu) != inform_tag) return drop(Dropped::other_pdu, *sender);
  Taken taken = take_pdu({*sender, scoped->pdu, scoped->whole, 2 * window_s + 1}, now);
  if (taken.dropped && *taken.dropped != Dropped::repeated) return taken;
  const UsmHead head{message.id, message.level, own_.engine_id, own_.boots, own_time(now), message.user};
  taken.response = write_usm_message(head, keys, response_to(scoped->whole, scoped->pdu));
  return taken;
}

NotificationReceiver::Taken NotificationReceiver::take_community(std::string_view datagram,
                                                                 const Candidates& here, Time now) {
  ber::Reader whole(datagram);
  ber::Reader body(whole.take(ber::sequence));
  const std::int64_t version = body.take_number();
  const std::string_view community = body.take(ber::octet_string);
  if (whole.bad() || body.bad() || !whole.rest().empty()) return drop(Dropped::malformed);
  Candidates proven;
  for (const std::uint32_t one : here) {
    const auto& principal = senders_[one].principal;
    const bool by_community = principal && principal->model == Principal::Model::community;
    if (by_community && same_secret(principal->community.text(), community)) proven.push_back(one);
  }
  if (proven.empty()) return drop(Dropped::wrong_community);
  if (proven.size() > 1) return drop(Dropped::unknown_engine);
  const std::string_view pdu = body.rest();
  const unsigned char tag = tag_of(pdu);
  const bool fits = version == SNMP_VERSION_1 ? tag == first_trap_tag : tag == trap_tag || tag == inform_tag;
  if (!fits) return drop(Dropped::other_pdu, proven.front());
  Taken taken = take_pdu({proven.front(), pdu, pdu, window_s + 1}, now);
  const bool known = !taken.dropped || *taken.dropped == Dropped::repeated;
  if (known && tag == inform_tag) taken.response = response_to(datagram, pdu);
  return taken;
}

NotificationReceiver::Taken NotificationReceiver::take_certified(std::string_view message, std::size_t sender,
                                                                 Time now) {
  ++received_;
  if (!states_[sender].rate.take(address_rate, now) || !all_.take(total_rate, now))
    return drop(Dropped::over_rate, sender);
  const auto tsm = read_tsm_message(message);
  const auto scoped = tsm ? read_scoped_pdu(tsm->scoped_pdu) : std::nullopt;
  if (!scoped) return drop(Dropped::malformed, sender);
  if (const std::string answer = local_engine_answer(*scoped, own_.engine_id); !answer.empty()) {
    ++discoveries_;
    Taken taken;
    taken.sender = sender;
    taken.report = answer_tsm_message(*tsm, answer);
    return taken;
  }
  const unsigned char tag = tag_of(scoped->pdu);
  if (tag != trap_tag && tag != inform_tag) return drop(Dropped::other_pdu, sender);
  Taken taken = take_pdu({sender, scoped->pdu, scoped->whole, 2 * window_s + 1}, now);
  const bool known = !taken.dropped || *taken.dropped == Dropped::repeated;
  if (known && tag == inform_tag)
    taken.response = answer_tsm_message(*tsm, response_to(scoped->whole, scoped->pdu));
  return taken;
}

NotificationReceiver::Taken NotificationReceiver::take_pdu(const Proven& proven, Time now) {
  std::vector<Seen>& seen = states_[proven.sender].seen;
  std::erase_if(seen, [&](const Seen& one) { return one.until_s <= whole_seconds(now); });
  const std::uint64_t print = print_of(proven.print);
  const bool again =
      std::any_of(seen.begin(), seen.end(), [&](const Seen& one) { return one.print == print; });
  if (again) return drop(Dropped::repeated, proven.sender);
  if (seen.size() >= most_seen) return drop(Dropped::over_rate, proven.sender);
  const Pdu pdu = read_pdu(proven.pdu);
  if (!pdu) return drop(Dropped::malformed, proven.sender);
  auto notification = read_notification(*pdu);
  if (!notification) return drop(Dropped::other_pdu, proven.sender);
  seen.push_back({print, whole_seconds(now) + proven.window_s});
  Taken taken;
  taken.sender = proven.sender;
  taken.notification = *std::move(notification);
  taken.print = print;
  return taken;
}

NotificationReceiver::Taken NotificationReceiver::refuse(Dropped reason, const UsmMessage& message,
                                                         const Candidates& here, const UsmKeys& keys,
                                                         Time now) {
  Taken taken = drop(reason);
  if (here.size() == 1) taken.sender = here.front();
  if (!message.reportable || reason == Dropped::malformed) return taken;
  taken.report = report(message, counter_of(reason), dropped(reason), keys, now);
  return taken;
}

/// RFC 3414 3.2, RFC 3412 7.1.3. That of a clock which is not ours is authenticated (3.2 7a): a sender
/// believes no other.
std::string NotificationReceiver::report(const UsmMessage& message, std::uint32_t counter,
                                         std::uint64_t count, const UsmKeys& keys, Time now) const {
  const std::array<char, 10> name{0x2b, 6, 1, 6, 3, 15, 1, 1, static_cast<char>(counter), 0};
  std::string number = ber::number(static_cast<std::int64_t>(count & 0xffffffffU));
  number.front() = static_cast<char>(counter32_tag);
  const std::string bind =
      ber::tagged(ber::sequence, ber::tagged(object_id_tag, {name.data(), name.size()}) + number);
  const std::string pdu = ber::tagged(
      report_tag, ber::number(0) + ber::number(0) + ber::number(0) + ber::tagged(ber::sequence, bind));
  const int level = counter == not_in_windows ? SNMP_SEC_LEVEL_AUTHNOPRIV : SNMP_SEC_LEVEL_NOAUTH;
  const UsmHead head{message.id, level, own_.engine_id, own_.boots, own_time(now), message.user};
  return write_usm_message(head, keys, scoped_pdu(own_.engine_id, pdu));
}

std::uint32_t NotificationReceiver::own_time(Time now) const {
  return static_cast<std::uint32_t>(std::clamp<std::int64_t>(whole_seconds(now - own_.began), 0, most_boots));
}

/// RFC 3414 3.2 7a, of the authoritative engine.
bool NotificationReceiver::in_own_window(const UsmMessage& message, Time now) const {
  const std::int64_t off = static_cast<std::int64_t>(message.time) - own_time(now);
  return own_.boots != most_boots && message.boots == own_.boots && off >= -window_s && off <= window_s;
}

void NotificationReceiver::forget(std::size_t sender, std::uint64_t print) {
  std::erase_if(states_[sender].seen, [&](const Seen& one) { return one.print == print; });
}

void NotificationReceiver::learn(std::size_t sender, const Engine& engine, Time now) {
  State& state = states_[sender];
  if (engine.id.empty()) return;
  if (engine.id != senders_[sender].engine_id) {
    by_engine_.erase(senders_[sender].engine_id);
    senders_[sender].engine_id = engine.id;
    by_engine_.emplace(engine.id, static_cast<std::uint32_t>(sender));
    state.clock_known = state.told = false;
  }
  if (engine.boots == 0) return;
  state.boots = engine.boots;
  state.latest = engine.time;
  state.stamped = now;
  state.clock_known = true;
}

std::optional<Engine> NotificationReceiver::engine_of(std::size_t sender, Time now) const {
  const State& state = states_[sender];
  if (!state.told) return std::nullopt;
  return Engine{senders_[sender].engine_id, state.boots,
                state.latest + static_cast<std::uint32_t>(whole_seconds(now - state.stamped))};
}

}  // namespace vergeset::snmp
