#include "snmp/tls_server.h"

#include <netinet/in.h>
#include <netinet/tcp.h>
#include <openssl/x509v3.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <utility>

namespace vergeset::snmp {

namespace {

constexpr std::size_t most_of_a_unit = 4;
constexpr std::size_t fewest_open = 64;
constexpr std::size_t most_open = 8192;
constexpr int accepted_at_a_time = 16;
constexpr int pieces_at_a_time = 4;
constexpr std::size_t piece_octets = 16384;
constexpr std::size_t most_unsent = 65536;
constexpr int idle_until_asked_s = 300;  ///< after which TCP asks whether the unit is still there
constexpr int waiting_to_be_accepted = 128;

struct FreeStore {
  void operator()(X509_STORE_CTX* store) const { X509_STORE_CTX_free(store); }
};

void set(int socket, int level, int option, int value) {
  ::setsockopt(socket, level, option, &value, sizeof value);
}

void ask_whether_there(int socket) {
  set(socket, SOL_SOCKET, SO_KEEPALIVE, 1);
  set(socket, IPPROTO_TCP, TCP_KEEPIDLE, idle_until_asked_s);
}

/// Address, port and the port of ours that it speaks to.
std::string peer_of(const UdpPort& port, const UdpPort::Way& way) {
  std::string peer(reinterpret_cast<const char*>(&way.peer), way.peer_size);
  const auto which = reinterpret_cast<std::uintptr_t>(&port);
  peer.append(reinterpret_cast<const char*>(&which), sizeof which);
  return peer;
}

}  // namespace

struct TlsServer::Open {
  Connection id = 0;
  std::string address;
  std::unique_ptr<TlsSession> session{};
  std::optional<std::size_t> guest{};  ///< who it is, once its certificate was accepted
  std::string why{};                   ///< it was not
  bool connected = false;              ///< and counted
  Time began{0};
  Time used{0};
  // Over TCP.
  int socket = -1;
  std::string unsent{};
  // Over UDP.
  UdpPort* port = nullptr;
  UdpPort::Way way{};
  std::string peer{};
};

TlsServer::TlsServer(EventLoop& loop, std::vector<Guest> guests, Told told, const Limits& limits)
    : loop_(loop), guests_(std::move(guests)), told_(std::move(told)), limits_(limits) {
  std::size_t certified = 0;
  for (std::size_t i = 0; i < guests_.size(); ++i) {
    if (!guests_[i].ours || guests_[i].address.empty()) continue;
    by_address_[guests_[i].address].guests.push_back(i);
    ++certified;
  }
  most_open_ = std::clamp(2 * certified, fewest_open, most_open);
}

TlsServer::~TlsServer() {
  for (const auto& [id, open] : open_) {
    open->session->close();
    flush(*open);
    if (open->socket < 0) continue;
    loop_.unwatch(open->socket);
    ::close(open->socket);
  }
  for (const int socket : listening_) {
    loop_.unwatch(socket);
    ::close(socket);
  }
}

TlsServer::Time TlsServer::now() const {
  return std::chrono::duration_cast<Time>(std::chrono::steady_clock::now().time_since_epoch());
}

bool TlsServer::any(bool datagrams) const {
  return std::any_of(by_address_.begin(), by_address_.end(), [&](const auto& here) {
    return std::any_of(here.second.guests.begin(), here.second.guests.end(),
                       [&](std::size_t guest) { return guests_[guest].ours->datagrams == datagrams; });
  });
}

std::optional<Problem> TlsServer::open(const Address& address, bool datagrams, const std::string& option) {
  if (datagrams) {
    auto port = UdpPort::open(
        loop_, address, option, [this](UdpPort& from, const UdpPort::Came& came) { datagram(from, came); },
        [this] { told_.turn(); });
    if (!port) return Problem{port.problem()};
    ports_.push_back(*std::move(port));
    return std::nullopt;
  }
  const int family = address.socket.ss_family;
  const int socket = ::socket(family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
  if (socket < 0) return Problem{cannot_listen(address, option)};
  if (family == AF_INET6) set(socket, IPPROTO_IPV6, IPV6_V6ONLY, 1);
  set(socket, SOL_SOCKET, SO_REUSEADDR, 1);
  if (::bind(socket, reinterpret_cast<const sockaddr*>(&address.socket), address.size) != 0 ||
      ::listen(socket, waiting_to_be_accepted) != 0) {
    std::string why = cannot_listen(address, option);
    ::close(socket);
    return Problem{std::move(why)};
  }
  listening_.push_back(socket);
  loop_.watch(socket, [this, socket] { accept_some(socket); });
  return std::nullopt;
}

std::vector<std::string> TlsServer::names(bool datagrams) const {
  std::vector<std::string> names;
  if (datagrams) {
    for (const auto& port : ports_) names.push_back(port->name());
  } else {
    for (const int socket : listening_) names.push_back(bound_name(socket));
  }
  return names;
}

std::uint64_t TlsServer::lost() const {
  std::uint64_t lost = 0;
  for (const auto& port : ports_) lost += port->lost();
  return lost;
}

/// Ours is shown before the unit has said who it is: where units at one address have several credentials, it
/// is that of the first.
SSL_CTX* TlsServer::context_for(const Here& here, bool datagrams) {
  for (const std::size_t guest : here.guests) {
    const Certified& ours = *guests_[guest].ours;
    if (ours.datagrams != datagrams) continue;
    auto& context = contexts_[&ours];
    if (!context) context = server_context(ours);
    return context.get();
  }
  return nullptr;
}

/// By a store of its own: each credential has other roots, and a store can be asked once.
std::optional<Error> TlsServer::refusal(X509_STORE_CTX& store, std::size_t guest) const {
  const Guest& one = guests_[guest];
  SSL_CTX* const context = one.ours->context.get();
  const std::unique_ptr<X509_STORE_CTX, FreeStore> own(X509_STORE_CTX_new());
  if (!own ||
      X509_STORE_CTX_init(own.get(), SSL_CTX_get_cert_store(context), X509_STORE_CTX_get0_cert(&store),
                          X509_STORE_CTX_get0_untrusted(&store)) != 1) {
    return Error{Failure::local, 0, 0, "this system's OpenSSL looks at no certificate"};
  }
  X509_STORE_CTX_set_default(own.get(), "ssl_client");
  X509_VERIFY_PARAM_set_auth_level(X509_STORE_CTX_get0_param(own.get()), SSL_CTX_get_security_level(context));
  return refusal_of(*own, *one.ours, one.expected, one.expected.host);
}

/// Whose certificate it is, of the units at the address.
bool TlsServer::judge(X509_STORE_CTX& store, Open& open) {
  std::vector<std::size_t> fits;
  for (const std::size_t guest : by_address_.at(open.address).guests) {
    if (guests_[guest].ours->datagrams != (open.socket < 0)) continue;
    if (const auto refused = refusal(store, guest)) {
      open.why = refused->text;
    } else {
      fits.push_back(guest);
    }
  }
  if (fits.size() > 1) {
    std::erase_if(fits, [&](std::size_t guest) {
      const ExpectedCertificate& expected = guests_[guest].expected;
      return expected.fingerprint.empty() && expected.known.empty();
    });
    if (fits.size() != 1)
      open.why =
          "its certificate may be that of several units at this address; state the fingerprint: of each";
  }
  if (fits.size() != 1) return false;
  open.guest = fits.front();
  return true;
}

void TlsServer::drop(Dropped reason, const Here* here, const std::string& why) {
  const bool alone = here != nullptr && here->guests.size() == 1;
  told_.dropped(reason, alone ? std::optional<std::size_t>(here->guests.front()) : std::nullopt, why);
}

bool TlsServer::may_shake(Here& here) {
  return here.handshakes.take(limits_.handshakes, now()) &&
         all_handshakes_.take(limits_.all_handshakes, now());
}

/// For one more handshake, or one more connection, which is not to go itself.
void TlsServer::make_room(const Here& here, bool connected, Connection but) {
  const Open* oldest = nullptr;
  const auto look_at = [&](const Open& open, bool of_state) {
    if (open.id == but || open.connected != of_state) return;
    if (oldest == nullptr || open.used < oldest->used) oldest = &open;
  };
  std::size_t count = 0;
  for (const Connection id : here.open) {
    const Open& open = *open_.at(id);
    if (id != but && open.connected == connected) ++count;
    look_at(open, connected);
  }
  if (count >= most_of_a_unit * here.guests.size() && oldest != nullptr) return remove(oldest->id);
  if (connected || open_.size() < most_open_) return;
  for (const bool of_state : {false, true}) {
    oldest = nullptr;
    for (const auto& [id, open] : open_) look_at(*open, of_state);
    if (oldest != nullptr) return remove(oldest->id);
  }
}

TlsServer::Open& TlsServer::add(const std::string& address) {
  Here& here = by_address_.at(address);
  make_room(here, false, 0);
  auto open = std::make_unique<Open>();
  open->id = next_++;
  open->address = address;
  open->began = open->used = now();
  here.open.push_back(open->id);
  Open& made = *open;
  open_[made.id] = std::move(open);
  return made;
}

void TlsServer::remove(Connection which) {
  const auto found = open_.find(which);
  if (found == open_.end()) return;
  const std::unique_ptr<Open> open = std::move(found->second);
  open_.erase(found);
  open->session->close();
  flush(*open);
  if (open->socket >= 0) {
    loop_.unwatch(open->socket);
    ::close(open->socket);
  } else {
    by_peer_.erase(open->peer);
  }
  std::erase(by_address_.at(open->address).open, which);
}

void TlsServer::accept_some(int listening) {
  for (int i = 0; i < accepted_at_a_time; ++i) {
    sockaddr_storage peer{};
    socklen_t size = sizeof peer;
    const int socket =
        ::accept4(listening, reinterpret_cast<sockaddr*>(&peer), &size, SOCK_NONBLOCK | SOCK_CLOEXEC);
    if (socket >= 0) {
      accept_one(socket, peer);
      continue;
    }
    // Without a descriptor the one who waits would wake the loop again and again.
    const bool full = errno == EMFILE || errno == ENFILE;
    if (!full || open_.empty()) return;
    remove(open_.begin()->first);
  }
}

void TlsServer::accept_one(int socket, const sockaddr_storage& peer) {
  const auto found = by_address_.find(sixteen_octets(peer));
  Here* const here = found == by_address_.end() ? nullptr : &found->second;
  SSL_CTX* const context = here == nullptr ? nullptr : context_for(*here, false);
  const bool may = context != nullptr && may_shake(*here);
  if (!may) {
    ::close(socket);
    return drop(context == nullptr ? Dropped::unknown_sender : Dropped::over_rate, here);
  }
  ask_whether_there(socket);
  Open& open = add(found->first);
  open.socket = socket;
  open.session =
      TlsSession::over_stream(*context, [this, &open](X509_STORE_CTX& store) { return judge(store, open); });
  loop_.watch(socket, [this, id = open.id] { readable(id); });
}

void TlsServer::readable(Connection which) {
  const auto found = open_.find(which);
  if (found == open_.end()) return;
  Open& open = *found->second;
  bool ended = false;
  std::array<char, piece_octets> piece;
  for (int i = 0; i < pieces_at_a_time && !ended; ++i) {
    const ssize_t count = ::recv(open.socket, piece.data(), piece.size(), 0);
    if (count < 0 && (errno == EAGAIN || errno == EINTR)) break;
    ended = count <= 0;
    if (ended) break;
    open.session->put({piece.data(), static_cast<std::size_t>(count)});
  }
  if (settle(open) && ended) {
    if (open.session->state() == TlsSession::State::shaking)
      drop(Dropped::no_handshake, &by_address_.at(open.address));
    remove(which);
  }
  told_.turn();
}

void TlsServer::datagram(UdpPort& port, const UdpPort::Came& came) {
  const auto found = by_address_.find(came.from);
  if (found == by_address_.end()) return drop(Dropped::unknown_sender, nullptr);
  Here& here = found->second;
  if (!here.datagrams.take(limits_.datagrams, now())) return drop(Dropped::over_rate, &here);
  if (came.cut) return drop(Dropped::malformed, &here);
  const std::string peer = peer_of(port, came.way);
  const auto known = by_peer_.find(peer);
  Open* const open = known == by_peer_.end() ? nullptr : open_.at(known->second).get();
  const bool anew = TlsSession::begins(came.octets);
  // A unit that has started over knows nothing of the connection that it had (RFC 6347 4.2.8): it goes once
  // the address has answered a cookie.
  if (open == nullptr || (anew && open->session->state() != TlsSession::State::shaking)) {
    if (anew) return greet(port, came, here, peer);
    return drop(Dropped::no_handshake, &here,
                "sends on a connection of DTLS that is no more; it is heard again when it connects anew");
  }
  open->way = came.way;
  open->session->put(came.octets);
  settle(*open);
}

void TlsServer::greet(UdpPort& port, const UdpPort::Came& came, Here& here, const std::string& peer) {
  SSL_CTX* const context = context_for(here, true);
  if (context == nullptr) return drop(Dropped::unknown_sender, &here);
  const auto who = std::make_shared<Open*>(nullptr);
  auto greeted = TlsSession::greet(*context, came.octets, peer, [this, who](X509_STORE_CTX& store) {
    return *who != nullptr && judge(store, **who);
  });
  const bool may = greeted.session && may_shake(here);
  if (greeted.session && !may) return drop(Dropped::over_rate, &here);
  for (const std::string& octets : greeted.answer) port.send(came.way, octets);
  if (!may) return;
  if (const auto before = by_peer_.find(peer); before != by_peer_.end()) remove(before->second);
  Open& open = add(came.from);
  *who = &open;
  open.session = std::move(greeted.session);
  open.port = &port;
  open.way = came.way;
  open.peer = peer;
  by_peer_[peer] = open.id;
  settle(open);
}

bool TlsServer::settle(Open& open) {
  const bool sent = flush(open);
  const auto messages = open.session->take_messages();
  if (!messages.empty()) open.used = now();
  if (open.session->was_connected() && !std::exchange(open.connected, true)) {
    ++connections_;
    make_room(by_address_.at(open.address), true, open.id);
  }
  for (const std::string& message : messages) told_.came(*open.guest, open.id, message);
  if (sent && !open.session->over()) return true;
  const Here& here = by_address_.at(open.address);
  switch (open.session->state()) {
    case TlsSession::State::refused:
      drop(Dropped::wrong_certificate, &here, open.why.empty() ? "shows no certificate" : open.why);
      break;
    case TlsSession::State::failed:
      if (!open.connected) drop(Dropped::no_handshake, &here, open.session->why());  // else it broke off
      break;
    case TlsSession::State::malformed:
      drop(Dropped::malformed, &here);
      break;
    default:
      break;
  }
  remove(open.id);
  return false;
}

/// False where the connection takes nothing any more.
bool TlsServer::flush(Open& open) {
  for (std::string& octets : open.session->take_out()) {
    if (open.port != nullptr) {
      open.port->send(open.way, octets);
    } else {
      open.unsent += octets;
    }
  }
  if (open.socket < 0) return true;
  bool waits = false;
  while (!open.unsent.empty() && !waits) {
    const ssize_t count = ::send(open.socket, open.unsent.data(), open.unsent.size(), MSG_NOSIGNAL);
    waits = count < 0 && errno == EAGAIN;
    if (count < 0 && !waits && errno != EINTR) return false;
    if (count > 0) open.unsent.erase(0, static_cast<std::size_t>(count));
  }
  loop_.watch_writable(open.socket, waits);
  return open.unsent.size() <= most_unsent;
}

void TlsServer::send(Connection to, std::string_view message) {
  const auto found = open_.find(to);
  if (found == open_.end()) return;
  found->second->session->send(message);
  flush(*found->second);
}

void TlsServer::tend() {
  std::vector<Connection> shaking;
  for (const auto& [id, open] : open_) {
    if (open->session->state() == TlsSession::State::shaking) shaking.push_back(id);
  }
  for (const Connection id : shaking) {
    Open& open = *open_.at(id);
    open.session->again();
    if (!settle(open) || now() - open.began < limits_.handshake_within) continue;
    drop(Dropped::no_handshake, &by_address_.at(open.address), "began a handshake of TLS and did not end it");
    remove(id);
  }
}

}  // namespace vergeset::snmp
