#include "snmp/tls_session.h"

#include <openssl/bio.h>
#include <openssl/err.h>
#include <openssl/hmac.h>
#include <sys/time.h>

#include <algorithm>
#include <array>
#include <utility>

#include "snmp/key_change.h"
#include "snmp/message.h"
#include "snmp/unit_certificate.h"

namespace vergeset::snmp {

namespace {

constexpr std::size_t most_octets = 16384;  // RFC 8446 5.1, RFC 6347 4.1
constexpr long greeted_datagram = 1400;     ///< what fits every way that is not worse than a tunnel
constexpr long most_headers = 48;           ///< of IPv6 and UDP
constexpr std::size_t secret_size = 32;

}  // namespace

/// Octets on their way in and out, under OpenSSL's feet.
struct TlsSession::Box {
  bool datagrams = false;
  std::string in;
  std::vector<std::string> out;

  static Box& of(BIO* octets) { return *static_cast<Box*>(BIO_get_data(octets)); }

  static int write(BIO* octets, const char* text, int size) {
    of(octets).out.emplace_back(text, static_cast<std::size_t>(size));
    return size;
  }

  /// A datagram is read at once; what does not fit is lost, as in a socket.
  static int read(BIO* octets, char* text, int size) {
    Box& box = of(octets);
    BIO_clear_retry_flags(octets);
    if (box.in.empty()) {
      BIO_set_retry_read(octets);
      return -1;
    }
    const std::size_t count = std::min(box.in.size(), static_cast<std::size_t>(size));
    std::copy_n(box.in.data(), count, text);
    box.in.erase(0, box.datagrams ? box.in.size() : count);
    return static_cast<int>(count);
  }

  static long control(BIO*, int what, long, void*) {
    if (what == BIO_CTRL_FLUSH) return 1;
    return what == BIO_CTRL_DGRAM_GET_MTU_OVERHEAD ? most_headers : 0;
  }

  BIO* new_octets() {
    static const std::unique_ptr<BIO_METHOD, decltype(&BIO_meth_free)> method = [] {
      BIO_METHOD* const made = BIO_meth_new(BIO_get_new_index() | BIO_TYPE_SOURCE_SINK, "box");
      BIO_meth_set_write(made, &Box::write);
      BIO_meth_set_read(made, &Box::read);
      BIO_meth_set_ctrl(made, &Box::control);
      return std::unique_ptr<BIO_METHOD, decltype(&BIO_meth_free)>(made, &BIO_meth_free);
    }();
    BIO* const octets = BIO_new(method.get());
    BIO_set_data(octets, this);
    BIO_set_init(octets, 1);
    return octets;
  }
};

TlsSession::TlsSession(SSL_CTX& context, bool datagrams, Judge judge)
    : judge_(std::move(judge)), datagrams_(datagrams), box_(std::make_unique<Box>()) {
  box_->datagrams = datagrams;
  SSL_CTX_set_cert_verify_callback(&context, &TlsSession::verify, nullptr);
  SSL_CTX_set_cookie_generate_cb(&context, &TlsSession::make_cookie);
  SSL_CTX_set_cookie_verify_cb(&context, &TlsSession::check_cookie);
  ssl_.reset(SSL_new(&context));
  SSL* const ssl = ssl_.get();
  SSL_set_app_data(ssl, this);
  SSL_set_info_callback(ssl, &TlsSession::note_alert);
  SSL_set_verify(ssl, SSL_VERIFY_PEER | SSL_VERIFY_FAIL_IF_NO_PEER_CERT, nullptr);
  BIO* const octets = box_->new_octets();
  SSL_set_bio(ssl, octets, octets);
  if (datagrams) {
    SSL_set_options(ssl, SSL_OP_NO_QUERY_MTU | SSL_OP_COOKIE_EXCHANGE);
    DTLS_set_link_mtu(ssl, greeted_datagram);
  }
  SSL_set_accept_state(ssl);
}

TlsSession::~TlsSession() = default;

std::unique_ptr<TlsSession> TlsSession::over_stream(SSL_CTX& context, Judge judge) {
  return std::unique_ptr<TlsSession>(new TlsSession(context, false, std::move(judge)));
}

TlsSession::Greeted TlsSession::greet(SSL_CTX& context, std::string_view datagram, const std::string& peer,
                                      Judge judge) {
  Greeted greeted;
  std::unique_ptr<TlsSession> session(new TlsSession(context, true, std::move(judge)));
  session->peer_ = peer;
  session->box_->in = datagram;
  ERR_clear_error();
  BIO_ADDR* const nobody = BIO_ADDR_new();
  const bool answered = DTLSv1_listen(session->ssl_.get(), nobody) == 1;
  BIO_ADDR_free(nobody);
  ERR_clear_error();
  if (answered) session->go_on();
  greeted.answer = session->take_out();
  if (answered) greeted.session = std::move(session);
  return greeted;
}

bool TlsSession::begins(std::string_view datagram) {
  constexpr unsigned char handshake = 22;    // RFC 6347 4.1
  constexpr unsigned char client_hello = 1;  // RFC 5246 7.4
  constexpr std::size_t epoch_at = 3;
  constexpr std::size_t body_at = 13;
  return datagram.size() > body_at && static_cast<unsigned char>(datagram[0]) == handshake &&
         datagram[epoch_at] == 0 && datagram[epoch_at + 1] == 0 &&
         static_cast<unsigned char>(datagram[body_at]) == client_hello;
}

/// Of the peer alone, so that nothing is kept of whoever asks (RFC 6347 4.2.1); the secret goes with the
/// process.
int TlsSession::make_cookie(SSL* ssl, unsigned char* cookie, unsigned* size) {
  static const std::string secret = random_octets(secret_size);
  const std::string& peer = static_cast<TlsSession*>(SSL_get_app_data(ssl))->peer_;
  return HMAC(EVP_sha256(), secret.data(), static_cast<int>(secret.size()),
              reinterpret_cast<const unsigned char*>(peer.data()), peer.size(), cookie, size) != nullptr;
}

int TlsSession::check_cookie(SSL* ssl, const unsigned char* cookie, unsigned size) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> own{};
  unsigned own_size = 0;
  if (make_cookie(ssl, own.data(), &own_size) != 1) return 0;
  return size == own_size && CRYPTO_memcmp(cookie, own.data(), own_size) == 0;
}

void TlsSession::note_alert(const SSL* ssl, int where, int what) {
  auto* const self = static_cast<TlsSession*>(SSL_get_app_data(ssl));
  if (where == SSL_CB_READ_ALERT && (what & 0xff) != SSL_AD_CLOSE_NOTIFY) self->alert_ = what & 0xff;
}

int TlsSession::verify(X509_STORE_CTX* store, void*) {
  const auto* const ssl =
      static_cast<SSL*>(X509_STORE_CTX_get_ex_data(store, SSL_get_ex_data_X509_STORE_CTX_idx()));
  auto* const self = static_cast<TlsSession*>(SSL_get_app_data(ssl));
  const bool accepted = self->judge_(*store);
  self->judged_ = !accepted;
  X509_STORE_CTX_set_error(store, accepted ? X509_V_OK : X509_V_ERR_CERT_UNTRUSTED);
  return accepted ? 1 : 0;
}

std::string TlsSession::why() const {
  if (alert_ > 0) {
    std::string said =
        std::string("it ends the handshake (TLS alert \"") + SSL_alert_desc_string_long(alert_) + "\")";
    if (alert_ == SSL_AD_CERTIFICATE_EXPIRED)
      return said + ": it holds our certificate for expired; set its clock, or have ours signed anew";
    if (about_our_certificate(alert_))
      return said + ": it does not know our certificate; let it trust ours, or who signed it";
    return said;
  }
  return "its handshake failed: " + (reason_.empty() ? "no reason is given" : reason_);
}

void TlsSession::put(std::string_view octets) {
  if (over()) return;
  if (datagrams_) {
    box_->in = octets;
  } else {
    box_->in += octets;
  }
  go_on();
}

void TlsSession::go_on() {
  ERR_clear_error();
  if (state_ == State::shaking) {
    const int result = SSL_do_handshake(ssl_.get());
    if (result != 1) return end(result);
    state_ = State::connected;
    connected_ = true;
  }
  read_all();
}

/// What a call of OpenSSL that did not do all of it means for the connection.
void TlsSession::end(int result) {
  const int why = SSL_get_error(ssl_.get(), result);
  if (why == SSL_ERROR_WANT_READ || why == SSL_ERROR_WANT_WRITE) return;
  if (why == SSL_ERROR_ZERO_RETURN) {
    state_ = State::closed;
    return;
  }
  const unsigned long code = ERR_peek_last_error();
  const char* const reason = ERR_reason_error_string(code);
  if (reason != nullptr) reason_ = reason;
  const bool none_shown = ERR_GET_REASON(code) == SSL_R_PEER_DID_NOT_RETURN_A_CERTIFICATE;
  state_ = judged_ || none_shown ? State::refused : State::failed;
  ERR_clear_error();
}

void TlsSession::read_all() {
  std::array<char, most_octets> piece{};
  while (state_ == State::connected) {
    ERR_clear_error();
    const int size = SSL_read(ssl_.get(), piece.data(), static_cast<int>(piece.size()));
    if (size <= 0) {
      end(size);
      return;
    }
    const std::string_view octets(piece.data(), static_cast<std::size_t>(size));
    if (datagrams_) {
      messages_.emplace_back(octets);
    } else {
      stream_ += octets;
      split();
    }
  }
}

/// Over TCP messages stand one behind the other (RFC 3430 2.1, RFC 6353 5.1.2).
void TlsSession::split() {
  std::string message;
  while (true) {
    switch (take_message(stream_, message, most_octets)) {
      case InStream::whole:
        messages_.push_back(std::move(message));
        continue;
      case InStream::none:
        state_ = State::malformed;
        return;
      case InStream::part:
        return;
    }
  }
}

void TlsSession::again() {
  if (!datagrams_ || state_ != State::shaking) return;
  ERR_clear_error();
  if (DTLSv1_handle_timeout(ssl_.get()) < 0) {
    reason_ = "it was not answered";
    state_ = State::failed;
  }
  ERR_clear_error();
}

std::vector<std::string> TlsSession::take_messages() {
  return std::exchange(messages_, {});
}

void TlsSession::send(std::string_view message) {
  if (state_ != State::connected || message.empty() || message.size() > most_octets) return;
  ERR_clear_error();
  SSL_write(ssl_.get(), message.data(), static_cast<int>(message.size()));  // the box takes all of it
  ERR_clear_error();
}

void TlsSession::close() {
  if (state_ == State::connected) SSL_shutdown(ssl_.get());
  ERR_clear_error();
}

std::vector<std::string> TlsSession::take_out() {
  return std::exchange(box_->out, {});
}

}  // namespace vergeset::snmp
