#include "snmp/session.h"

#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <system_error>
#include <utility>

#include "smi/value.h"
#include "snmp/failure.h"

namespace vergeset::snmp {

namespace {

/// Which descriptors are readable, in the form that the library wants; grows with the descriptors.
struct ReadableSet {
  netsnmp_large_fd_set set;
  ReadableSet() { netsnmp_large_fd_set_init(&set, FD_SETSIZE); }
  ~ReadableSet() { netsnmp_large_fd_set_cleanup(&set); }
  ReadableSet(const ReadableSet&) = delete;
  ReadableSet& operator=(const ReadableSet&) = delete;
};

std::string engine_of(const netsnmp_pdu& pdu) {
  if (pdu.securityEngineID == nullptr) return {};
  return {reinterpret_cast<const char*>(pdu.securityEngineID), pdu.securityEngineIDLen};
}

/// The library has no user of it any more; whoever made it still has.
void take_out(usmUser& user) {
  usm_remove_user(&user);
  user.next = user.prev = nullptr;
}

bool refused_by_clock(const netsnmp_pdu& report) {
  return report_error(report).failure == Failure::clock_window;
}

/// The engine that the session's requests are meant for. The library frees what stands there.
void speak_to(netsnmp_session& session, const std::string& engine_id) {
  const auto put = [&engine_id](u_char*& octets, size_t& size) {
    std::free(std::exchange(octets, nullptr));
    octets = static_cast<u_char*>(netsnmp_memdup(engine_id.data(), engine_id.size()));
    size = octets == nullptr ? 0 : engine_id.size();
  };
  put(session.securityEngineID, session.securityEngineIDLen);
  put(session.contextEngineID, session.contextEngineIDLen);
}

/// Shows the keys to the library: Ku for it to localize, or Kul as they are. `auth` and `privacy` hold what
/// it points at.
void put_keys(const Principal& principal, netsnmp_session& wanted, Key& auth, Key& privacy) {
  if (principal.engine_id.empty()) {
    std::memcpy(wanted.securityAuthKey, principal.auth_key.octets.data(), principal.auth_key.size);
    wanted.securityAuthKeyLen = principal.auth_key.size;
    std::memcpy(wanted.securityPrivKey, principal.privacy_key.octets.data(), principal.privacy_key.size);
    wanted.securityPrivKeyLen = principal.privacy_key.size;
    return;
  }
  auth.octets = principal.auth_key.octets;
  privacy.octets = principal.privacy_key.octets;
  if (principal.auth_key.size > 0) wanted.securityAuthLocalKey = auth.octets.data();
  wanted.securityAuthLocalKeyLen = principal.auth_key.size;
  if (principal.privacy_key.size > 0) wanted.securityPrivLocalKey = privacy.octets.data();
  wanted.securityPrivLocalKeyLen = principal.privacy_key.size;
}

/// A localized key that is shorter than the cipher's is lengthened as the library does with those that it
/// localizes itself (draft-blumenthal-aes-usm-04 3.1.2.1).
bool lengthened(usmUser& user, const Principal& principal) {
  if (principal.engine_id.empty() || principal.privacy_key.size == 0) return true;
  return usm_extend_user_kul(&user, static_cast<u_int>(user.privKeyLen)) == SNMPERR_SUCCESS;
}

/// usmStatsUnknownEngineIDs (RFC 3414 3.2.3).
bool unknown_engine(const netsnmp_pdu& report) {
  const std::array<oid, 10> counter{1, 3, 6, 1, 6, 3, 15, 1, 1, 4};
  const netsnmp_variable_list* const found = report.variables;
  return found != nullptr && found->name_length >= counter.size() &&
         std::equal(counter.begin(), counter.end(), found->name);
}

}  // namespace

/// While the library builds or reads a message of this session.
class Session::Turn {
 public:
  explicit Turn(Session& session) : session_(session) {
    if (session_.clock_) session_.clock_->show();
    if (session_.user_) usm_add_user(session_.user_.get());
  }
  ~Turn() {
    if (session_.user_) take_out(*session_.user_);
    if (session_.clock_) session_.clock_->hide();
    const std::string heard = std::exchange(session_.heard_, {});
    const bool own = session_.clock_ && session_.clock_->engine_id() == heard;
    if (!heard.empty() && !own) forget_engine(heard);
  }
  Turn(const Turn&) = delete;
  Turn& operator=(const Turn&) = delete;

 private:
  Session& session_;
};

struct Session::Try {
  Session& session;
  ExchangePtr exchange;
  int generation;
  Sent sent;
};

Session::Session(EventLoop& loop, const Address& address)
    : Channel(address.text), loop_(loop), failure_(open(address)) {}

std::optional<Error> Session::open(const Address& address) {
  start_library();
  const auto error = [this](Failure failure, const std::string& why) {
    return Error{failure, 0, 0, "cannot open a socket to " + peer_ + ": " + why};
  };
  netsnmp_session wanted;
  snmp_sess_init(&wanted);
  netsnmp_transport* const transport =
      netsnmp_tdomain_transport_full("snmp", address.library.c_str(), 0, nullptr, nullptr);
  if (transport == nullptr) return error(Failure::local, std::generic_category().message(errno));
  wanted.version = SNMP_VERSION_3;
  wanted.securityModel = SNMP_SEC_MODEL_USM;
  wanted.securityLevel = SNMP_SEC_LEVEL_NOAUTH;
  wanted.isAuthoritative = SNMP_SESS_NONAUTHORITATIVE;
  wanted.myvoid = this;
  handle_ = snmp_sess_add(&wanted, transport, nullptr, &Session::on_parsed);
  if (handle_ == nullptr) return error(Failure::local, snmp_api_errstring(wanted.s_snmp_errno));

  netsnmp_session& session = *snmp_sess_session(handle_);
  // Discovery is ours, so that it does not block. At 0 retries the library would still send again
  // by itself after notInTimeWindow, a SET too, and even where the report was not authenticated.
  session.flags |= SNMP_FLAGS_DONT_PROBE;
  session.retries = -1;

  if (connect(transport->sock, reinterpret_cast<const sockaddr*>(&address.socket), address.size) != 0) {
    const int why = errno;
    const bool route = why == ENETUNREACH || why == EHOSTUNREACH;
    return error(route ? Failure::unreachable : Failure::local, std::generic_category().message(why));
  }
  socket_ = transport->sock;
  loop_.watch(socket_, [this] { readable(); });
  return {};
}

Session::~Session() {
  if (socket_ >= 0) loop_.unwatch(socket_);
  if (handle_ != nullptr) snmp_sess_close(handle_);
}

std::optional<Error> Session::send(Pdu pdu, const ExchangePtr& exchange, std::chrono::microseconds patience) {
  const Turn turn(*this);
  netsnmp_session& session = *snmp_sess_session(handle_);
  if (!tries_.empty()) snmp_sess_timeout(handle_);
  session.timeout = patience.count();

  auto attempt = std::unique_ptr<Try>(
      new Try{*this, exchange, exchange->generation, {++exchange->sent, std::chrono::steady_clock::now()}});
  Try* const key = attempt.get();
  tries_.push_back(std::move(attempt));
  if (snmp_sess_async_send(handle_, pdu.get(), &Session::on_event, key) == 0) {
    std::erase_if(tries_, [key](const auto& other) { return other.get() == key; });
    return send_error(session.s_snmp_errno, session.s_errno, peer_);
  }
  // The library's now, which keeps it until the answer, to send it again; we do that ourselves. Its variable
  // bindings take a kilobyte each (an object identifier of 128 arcs), so they go at once.
  netsnmp_pdu& kept = *pdu.release();
  snmp_free_varbind(std::exchange(kept.variables, nullptr));
  return {};
}

/// The library's callback. Returns 1 where the try is over.
int Session::on_event(int operation, netsnmp_session*, int, netsnmp_pdu* pdu, void* attempt) {
  Try& one = *static_cast<Try*>(attempt);
  Session& session = one.session;
  switch (operation) {
    case NETSNMP_CALLBACK_OP_RECEIVED_MESSAGE:
      if (!session.take(one, *pdu)) return 0;
      [[fallthrough]];
    case NETSNMP_CALLBACK_OP_TIMED_OUT:
      std::erase_if(session.tries_, [&one](const auto& other) { return other.get() == &one; });
      return 1;
    default:
      // A report is announced once as a security error and then as a message; send() sees to the rest.
      return 0;
  }
}

/// False where the answer is to be ignored and another one waited for.
bool Session::take(const Try& attempt, const netsnmp_pdu& pdu) {
  Exchange& exchange = *attempt.exchange;
  if (pdu.command == SNMP_MSG_REPORT) return take_report(attempt, pdu);
  if (exchange.answer || exchange.given_up) {
    ++too_late_;
  } else {
    timed(exchange, attempt.sent);
    exchange.answer = pdu.command == SNMP_MSG_RESPONSE && !exchange.discovery
                          ? read_response(exchange.request, pdu)
                          : Answer(Error{Failure::bad_answer, 0, 0, peer_ + " answered with no response"});
    loop_.wake(exchange.slot);
  }
  return true;
}

bool Session::take_report(const Try& attempt, const netsnmp_pdu& pdu) {
  Exchange& exchange = *attempt.exchange;
  if (exchange.discovery) {
    if (exchange.answer) return true;
    timed(exchange, attempt.sent);
    const std::string engine = engine_of(pdu);
    if (engine.empty() || engine.size() > SNMP_MAX_ENG_SIZE) {
      exchange.answer = Error{Failure::bad_answer, 0, 0,
                              "the engine id of " + peer_ + " has " + std::to_string(engine.size()) +
                                  " octets, not 5 to 32 (RFC 3411)"};
    } else {
      exchange.clock.emplace(engine);
      exchange.answer = std::vector<VarBind>{};
    }
    loop_.wake(exchange.slot);
    return true;
  }
  if (refused_by_clock(pdu)) {
    // Such a report is authenticated (RFC 3414 3.2.7a), or it may be anyone's.
    if (pdu.securityLevel == SNMP_SEC_LEVEL_NOAUTH) return false;
    if (attempt.generation != exchange.generation) return true;
    exchange.refused_by_clock = true;
  } else if (unknown_engine(pdu)) {
    if (attempt.generation != exchange.generation) return true;
    exchange.unknown_engine = true;
  } else if (!exchange.answer) {
    timed(exchange, attempt.sent);
    exchange.answer = report_error(pdu);
  }
  loop_.wake(exchange.slot);
  return true;
}

void Session::readable() {
  static thread_local ReadableSet readable;
  const Turn turn(*this);
  netsnmp_large_fd_setfd(socket_, &readable.set);
  const int result = snmp_sess_read2(handle_, &readable.set);
  netsnmp_large_fd_clr(socket_, &readable.set);
  if (result == 0) return;
  const netsnmp_session& session = *snmp_sess_session(handle_);
  if (session.s_snmp_errno == SNMPERR_BAD_RECVFROM && session.s_errno == ECONNREFUSED) refused();
}

/// The system passed on that the unit's port is closed. It does not say which datagram was refused,
/// so a SET among others waits on: it may have been the one that got through.
void Session::refused() {
  const auto waiting = std::count_if(tries_.begin(), tries_.end(),
                                     [](const auto& attempt) { return !attempt->exchange->answer; });
  for (const auto& attempt : tries_) {
    Exchange& exchange = *attempt->exchange;
    if (exchange.answer || (exchange.request.command == SNMP_MSG_SET && waiting > 1)) continue;
    exchange.answer = send_error(SNMPERR_BAD_SENDTO, ECONNREFUSED, peer_);
    loop_.wake(exchange.slot);
  }
}

/// The library's hook behind parsing, which alone tells why an answer could not be taken. Such an
/// answer may not be the unit's, so nothing ends here; it explains why nothing better came.
int Session::on_parsed(netsnmp_session* library_session, netsnmp_pdu* pdu, int result) {
  Session& session = *static_cast<Session*>(library_session->myvoid);
  session.heard_ = engine_of(*pdu);
  if (result == SNMPERR_SUCCESS) return 1;
  for (const auto& attempt : session.tries_)
    attempt->exchange->garbled = garbled_error(result, session.peer_);
  return 1;
}

Session::User Session::make_user(const Principal& principal, const std::string& engine_id) {
  std::string name = principal.user;
  std::string engine = engine_id;
  netsnmp_session wanted;
  snmp_sess_init(&wanted);
  wanted.version = SNMP_VERSION_3;
  wanted.securityModel = SNMP_SEC_MODEL_USM;
  wanted.securityName = name.data();
  wanted.securityNameLen = name.size();
  wanted.securityEngineID = reinterpret_cast<u_char*>(engine.data());
  wanted.securityEngineIDLen = engine.size();
  wanted.securityAuthProto = sc_get_auth_oid(principal.auth, &wanted.securityAuthProtoLen);
  wanted.securityPrivProto = sc_get_priv_oid(principal.privacy, &wanted.securityPrivProtoLen);
  Key auth;
  Key privacy;
  put_keys(principal, wanted, auth, privacy);

  const bool made = usm_create_user_from_session(&wanted) == SNMPERR_SUCCESS;
  wipe(&wanted, sizeof wanted);
  usmUser* const user =
      made ? usm_get_user(reinterpret_cast<const u_char*>(engine_id.data()), engine_id.size(), name.c_str())
           : nullptr;
  if (user == nullptr) return {};
  take_out(*user);
  User taken(user);
  return lengthened(*user, principal) ? std::move(taken) : User();
}

std::optional<Error> Session::join(const Principal& principal, Clock clock) {
  if (!principal.engine_id.empty() && principal.engine_id != clock.engine_id()) {
    Error error{Failure::wrong_engine, 0, 0,
                "the keys of user '" + principal.user + "' are those of engine " +
                    smi::to_hex(principal.engine_id) + ", and " + peer_ + " is engine " +
                    smi::to_hex(clock.engine_id())};
    error.engine = clock.engine_id();
    return error;
  }
  user_ = make_user(principal, clock.engine_id());
  if (!user_) {
    return Error{Failure::local, 0, 0,
                 "the keys of user '" + principal.user + "' cannot be made for " + peer_};
  }
  clock_ = std::move(clock);
  netsnmp_session& session = *snmp_sess_session(handle_);
  speak_to(session, clock_->engine_id());
  std::free(std::exchange(session.securityName, nullptr));
  session.securityName = strdup(principal.user.c_str());
  session.securityNameLen = principal.user.size();
  session.securityLevel = principal.level;
  return {};
}

}  // namespace vergeset::snmp
