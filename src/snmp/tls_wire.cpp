#include "snmp/tls_wire.h"

#include <openssl/bio.h>
#include <openssl/err.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <utility>

#include "snmp/failure.h"
#include "snmp/message.h"

namespace vergeset::snmp {

namespace {

/// A record holds as many octets (RFC 8446 5.1, RFC 6347 4.1), and a message of DTLS is one record (RFC
/// 6353 5.1.2).
constexpr std::size_t most_in_a_record = 16384;
/// What fits every way that is not worse than a tunnel; handshakes are cut to it.
constexpr long usual_datagram = 1400;

std::string library_reason() {
  const unsigned long code = ERR_peek_last_error();
  const char* const reason = ERR_reason_error_string(code);
  return reason == nullptr ? "no reason is given" : reason;
}

// OpenSSL's own socket would end the process by SIGPIPE where the unit has closed the connection.

int descriptor_of(BIO* octets) {
  return static_cast<int>(reinterpret_cast<std::intptr_t>(BIO_get_data(octets)));
}

int write_quietly(BIO* octets, const char* text, int size) {
  BIO_clear_retry_flags(octets);
  const ssize_t sent = ::send(descriptor_of(octets), text, static_cast<std::size_t>(size), MSG_NOSIGNAL);
  if (sent >= 0) return static_cast<int>(sent);
  if (errno == EAGAIN || errno == EINTR) BIO_set_retry_write(octets);
  // What the unit said before it closed is still to be read, as why it does not take our certificate.
  return errno == EPIPE || errno == ECONNRESET ? size : -1;
}

int read_what_is_there(BIO* octets, char* text, int size) {
  BIO_clear_retry_flags(octets);
  const ssize_t count = ::recv(descriptor_of(octets), text, static_cast<std::size_t>(size), 0);
  if (count < 0 && (errno == EAGAIN || errno == EINTR)) BIO_set_retry_read(octets);
  return static_cast<int>(count);
}

long control(BIO*, int what, long, void*) {
  return what == BIO_CTRL_FLUSH ? 1 : 0;
}

Owned<BIO> stream_of(int socket) {
  static const std::unique_ptr<BIO_METHOD, decltype(&BIO_meth_free)> method = [] {
    BIO_METHOD* const made =
        BIO_meth_new(BIO_get_new_index() | BIO_TYPE_SOURCE_SINK, "stream without SIGPIPE");
    BIO_meth_set_write(made, write_quietly);
    BIO_meth_set_read(made, read_what_is_there);
    BIO_meth_set_ctrl(made, control);
    return std::unique_ptr<BIO_METHOD, decltype(&BIO_meth_free)>(made, &BIO_meth_free);
  }();
  Owned<BIO> octets(BIO_new(method.get()));
  BIO_set_data(octets.get(), reinterpret_cast<void*>(static_cast<std::intptr_t>(socket)));
  BIO_set_init(octets.get(), 1);
  return octets;
}

Owned<BIO> datagrams_of(int socket, const Address& address) {
  Owned<BIO> octets(BIO_new_dgram(socket, BIO_NOCLOSE));
  BIO_ADDR* const peer = BIO_ADDR_new();
  if (address.socket.ss_family == AF_INET) {
    const auto& v4 = reinterpret_cast<const sockaddr_in&>(address.socket);
    BIO_ADDR_rawmake(peer, AF_INET, &v4.sin_addr, sizeof v4.sin_addr, v4.sin_port);
  } else {
    const auto& v6 = reinterpret_cast<const sockaddr_in6&>(address.socket);
    BIO_ADDR_rawmake(peer, AF_INET6, &v6.sin6_addr, sizeof v6.sin6_addr, v6.sin6_port);
  }
  BIO_ctrl(octets.get(), BIO_CTRL_DGRAM_SET_CONNECTED, 0, peer);
  BIO_ADDR_free(peer);
  return octets;
}

}  // namespace

TlsWire::TlsWire(EventLoop& loop, const Address& address, std::shared_ptr<const Certified> ours,
                 ExpectedCertificate expected)
    : loop_(loop), address_(address), ours_(std::move(ours)), expected_(std::move(expected)) {}

TlsWire::~TlsWire() {
  close_down();
}

/// Tells the unit, so that it need not keep the connection until it times out.
void TlsWire::close_down() {
  if (state_ == State::connected && ssl_) SSL_shutdown(ssl_.get());
  ERR_clear_error();
  ssl_.reset();
  if (socket_ >= 0) {
    loop_.unwatch(socket_);
    close(std::exchange(socket_, -1));
  }
  state_ = State::closed;
  in_.clear();
  out_.clear();
}

void TlsWire::close_with(const Error& why) {
  close_down();
  if (closed) closed(why);
}

void TlsWire::doubt() {
  if (ours_->datagrams && connected()) close_down();
}

Task<std::optional<Error>> TlsWire::connect(std::chrono::milliseconds within) {
  if (connected()) co_return std::nullopt;
  if (state_ == State::connecting) {
    const auto slot = EventLoop::make_slot();
    others_.push_back(slot);
    co_await loop_.wait(slot, Moment::max());
    co_return outcome_;
  }
  state_ = State::connecting;
  outcome_ = co_await shake_hands(std::chrono::steady_clock::now() + within);
  if (outcome_) close_down();
  for (const auto& slot : std::exchange(others_, std::vector<EventLoop::SlotPtr>())) loop_.wake(slot);
  co_return outcome_;
}

std::optional<Error> TlsWire::begin() {
  refusal_.reset();
  accepted_ = false;
  alert_ = 0;
  socket_ = connected_socket(address_, ours_->datagrams ? SOCK_DGRAM : SOCK_STREAM);
  if (socket_ < 0) return send_error(SNMPERR_BAD_SENDTO, errno, address_.text);
  loop_.watch(socket_, [this] { ready(); });
  ssl_.reset(SSL_new(ours_->context.get()));
  if (!ssl_) return Error{Failure::local, 0, 0, "this system's OpenSSL makes no connection"};
  SSL* const ssl = ssl_.get();
  SSL_set_app_data(ssl, this);
  SSL_set_info_callback(ssl, &TlsWire::note_alert);
  // Asked for in the context, where all links share it; it finds its link by the connection.
  SSL_CTX_set_cert_verify_callback(ours_->context.get(), &TlsWire::verify, nullptr);
  SSL_set_verify(ssl, SSL_VERIFY_PEER, nullptr);
  if (ours_->datagrams) {
    BIO* const octets = datagrams_of(socket_, address_).release();
    SSL_set_bio(ssl, octets, octets);
    SSL_set_options(ssl, SSL_OP_NO_QUERY_MTU);
    DTLS_set_link_mtu(ssl, usual_datagram);
  } else {
    BIO* const octets = stream_of(socket_).release();
    SSL_set_bio(ssl, octets, octets);
    loop_.watch_writable(socket_, true);  // when it is connected
  }
  SSL_set_connect_state(ssl);
  return std::nullopt;
}

/// Why the unit was not connected to over TCP; nothing where it was, or is not yet.
std::optional<Error> TlsWire::arrived() const {
  int why = 0;
  socklen_t size = sizeof why;
  getsockopt(socket_, SOL_SOCKET, SO_ERROR, &why, &size);
  if (why == 0) return std::nullopt;
  return send_error(SNMPERR_BAD_SENDTO, why, address_.text);
}

/// When DTLS sends again what was not answered (RFC 6347 4.2.4), or at the end.
TlsWire::Moment TlsWire::next_look(Moment until) const {
  timeval left{};
  if (!ours_->datagrams || DTLSv1_get_timeout(ssl_.get(), &left) != 1) return until;
  const auto again = std::chrono::steady_clock::now() + std::chrono::seconds(left.tv_sec) +
                     std::chrono::microseconds(left.tv_usec);
  return std::min(until, again);
}

Task<std::optional<Error>> TlsWire::shake_hands(Moment until) {
  if (auto error = begin()) co_return error;
  bool there = ours_->datagrams;
  while (true) {
    if (there) {
      ERR_clear_error();
      const int result = SSL_do_handshake(ssl_.get());
      if (result == 1) break;
      const int why = SSL_get_error(ssl_.get(), result);
      if (why != SSL_ERROR_WANT_READ && why != SSL_ERROR_WANT_WRITE) co_return not_shaken(why, true);
      loop_.watch_writable(socket_, why == SSL_ERROR_WANT_WRITE);
    }
    if (std::chrono::steady_clock::now() >= until) co_return not_shaken(SSL_ERROR_NONE, false);
    waiting_ = EventLoop::make_slot();
    co_await loop_.wait(waiting_, next_look(until));
    waiting_.reset();
    if (ours_->datagrams) {
      DTLSv1_handle_timeout(ssl_.get());
    } else if (!there) {
      if (auto error = arrived()) co_return error;
      there = std::chrono::steady_clock::now() < until;
    }
  }
  loop_.watch_writable(socket_, false);
  state_ = State::connected;
  co_return std::nullopt;
}

void TlsWire::note_alert(const SSL* ssl, int where, int what) {
  auto* const self = static_cast<TlsWire*>(SSL_get_app_data(ssl));
  if (where == SSL_CB_READ_ALERT && self != nullptr) self->alert_ = what & 0xff;
}

int TlsWire::verify(X509_STORE_CTX* store, void*) {
  const auto* const ssl =
      static_cast<SSL*>(X509_STORE_CTX_get_ex_data(store, SSL_get_ex_data_X509_STORE_CTX_idx()));
  auto* const self = static_cast<TlsWire*>(SSL_get_app_data(ssl));
  if (const X509* const shown = X509_STORE_CTX_get0_cert(store)) self->shown_ = fingerprint_of(*shown);
  self->refusal_ = refusal_of(*store, *self->ours_, self->expected_, self->address_.text);
  self->accepted_ = !self->refusal_;
  if (self->accepted_) {
    X509_STORE_CTX_set_error(store, X509_V_OK);
  } else if (X509_STORE_CTX_get_error(store) == X509_V_OK) {
    X509_STORE_CTX_set_error(store, X509_V_ERR_APPLICATION_VERIFICATION);
  }
  return self->accepted_ ? 1 : 0;
}

Error TlsWire::alert_error() const {
  const std::string said =
      address_.text + " ends the connection (TLS alert \"" + SSL_alert_desc_string_long(alert_) + "\")";
  if (alert_ == SSL_AD_CERTIFICATE_EXPIRED) {
    return {Failure::expired_certificate, 0, 0,
            said + ": it holds our certificate for expired; set its clock, or have ours signed anew"};
  }
  if (about_our_certificate(alert_) || (accepted_ && alert_ == SSL_AD_HANDSHAKE_FAILURE)) {
    return {Failure::unknown_certificate, 0, 0,
            said + ": it does not know our certificate; let it trust ours, or who signed it"};
  }
  return {
      Failure::bad_answer, 0, 0,
      said +
          ": it shares no version of TLS or no cipher with us; some agents know TLS 1.0 alone over TCP, and "
          "are better spoken to with transport: dtls"};
}

Error TlsWire::not_shaken(int result, bool in_time) const {
  if (refusal_) return *refusal_;
  if (alert_ > 0) return alert_error();
  if (!in_time && !accepted_) {
    return {Failure::no_answer, 0, 0, "no answer from " + address_.text + " to a handshake of TLS"};
  }
  if (result == SSL_ERROR_SYSCALL && errno != 0 && !accepted_) {
    return send_error(SNMPERR_BAD_SENDTO, errno, address_.text);
  }
  if (accepted_) {
    return {Failure::unknown_certificate, 0, 0,
            address_.text + (in_time ? " closed the connection" : " fell silent") +
                " when it was shown our certificate: it seems not to know it; let it trust ours, or who "
                "signed it"};
  }
  return {Failure::bad_answer, 0, 0,
          "what " + address_.text + " answers is no handshake of TLS that we take: " + library_reason()};
}

Error TlsWire::lost() const {
  if (alert_ > 0) return alert_error();
  return {Failure::unreachable, 0, 0, address_.text + " closed the connection"};
}

void TlsWire::ready() {
  if (waiting_) {
    loop_.watch_writable(socket_, false);  // until the handshake wants it again
    loop_.wake(waiting_);
    return;
  }
  if (!connected()) return;
  if (!out_.empty() && !flush()) return close_with(lost());
  read_all();
}

void TlsWire::read_all() {
  std::array<char, most_in_a_record> piece{};
  while (connected()) {
    ERR_clear_error();
    const int size = SSL_read(ssl_.get(), piece.data(), static_cast<int>(piece.size()));
    if (size <= 0) {
      const int why = SSL_get_error(ssl_.get(), size);
      if (why == SSL_ERROR_WANT_READ || why == SSL_ERROR_WANT_WRITE) return;
      // A datagram that is none of the connection's is dropped by DTLS itself; a closed port is told here.
      return close_with(lost());
    }
    if (ours_->datagrams) {
      if (heard) heard({piece.data(), static_cast<std::size_t>(size)});
    } else {
      in_.append(piece.data(), static_cast<std::size_t>(size));
      take_messages();
    }
  }
}

/// Over TCP messages stand one behind the other; each says how long it is (RFC 3430 2.1, RFC 6353 5.1.2).
void TlsWire::take_messages() {
  std::string message;
  while (true) {
    const InStream found = take_message(in_, message, most_message_octets);
    if (found == InStream::none)
      return close_with({Failure::bad_answer, 0, 0, "what " + address_.text + " answers is not SNMPv3"});
    if (found == InStream::part) return;
    if (heard) heard(message);
  }
}

/// False where the connection is gone.
bool TlsWire::flush() {
  while (!out_.empty()) {
    ERR_clear_error();
    const int size = SSL_write(ssl_.get(), out_.data(), static_cast<int>(out_.size()));
    if (size <= 0) {
      const int why = SSL_get_error(ssl_.get(), size);
      const bool later = why == SSL_ERROR_WANT_WRITE || why == SSL_ERROR_WANT_READ;
      if (later) loop_.watch_writable(socket_, true);
      return later;
    }
    out_.erase(0, static_cast<std::size_t>(size));
  }
  loop_.watch_writable(socket_, false);
  return true;
}

std::optional<Error> TlsWire::send(std::string_view message) {
  if (!connected()) return lost();
  if (ours_->datagrams) {
    if (message.size() > most_in_a_record) return send_error(SNMPERR_TOO_LONG, 0, address_.text);
    ERR_clear_error();
    errno = 0;
    const int size = SSL_write(ssl_.get(), message.data(), static_cast<int>(message.size()));
    if (size > 0 || SSL_get_error(ssl_.get(), size) == SSL_ERROR_WANT_WRITE) return std::nullopt;
    return send_error(SNMPERR_BAD_SENDTO, errno, address_.text);
  }
  const bool was_empty = out_.empty();
  out_ += message;
  if (was_empty && !flush()) return lost();
  return std::nullopt;
}

}  // namespace vergeset::snmp
