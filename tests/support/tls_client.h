#pragma once

#include <fcntl.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <memory>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "support/certificates.h"

namespace vergeset::tests {

/// OpenSSL's own client, octet by octet: what it says is taken out and what is said to it is put in, so that
/// a test may turn, cut and keep it. Of DTLS each piece is a datagram.
class TlsClient {
 public:
  struct Wish {
    bool datagrams = false;
    const MadeCertificate* shown = nullptr;    ///< nothing: none
    const MadeCertificate* trusted = nullptr;  ///< who signs servers; nothing: any server will do
    int version = 0;                           ///< and no other; 0: any
  };

  explicit TlsClient(const Wish& wish)
      : context_(SSL_CTX_new(wish.datagrams ? DTLS_client_method() : TLS_client_method())) {
    if (wish.shown != nullptr) show(context_.get(), *wish.shown);
    if (wish.trusted != nullptr) {
      trust(context_.get(), *wish.trusted);
      SSL_CTX_set_verify(context_.get(), SSL_VERIFY_PEER, nullptr);
    }
    if (wish.version != 0) {
      SSL_CTX_set_min_proto_version(context_.get(), wish.version);
      SSL_CTX_set_max_proto_version(context_.get(), wish.version);
    }
    SSL_CTX_set_session_cache_mode(context_.get(), SSL_SESS_CACHE_CLIENT);
    ssl_.reset(SSL_new(context_.get()));
    // A pair of sockets keeps datagrams apart.
    if (socketpair(AF_UNIX, (wish.datagrams ? SOCK_DGRAM : SOCK_STREAM) | SOCK_CLOEXEC | SOCK_NONBLOCK, 0,
                   ends_.data()) != 0) {
      throw std::runtime_error("no pair of sockets");
    }
    BIO* const octets =
        wish.datagrams ? BIO_new_dgram(ends_[0], BIO_NOCLOSE) : BIO_new_socket(ends_[0], BIO_NOCLOSE);
    SSL_set_bio(ssl_.get(), octets, octets);
    if (wish.datagrams) {
      BIO_ADDR* const anyone = BIO_ADDR_new();  // the pair is connected by itself
      BIO_ctrl(octets, BIO_CTRL_DGRAM_SET_CONNECTED, 0, anyone);
      BIO_ADDR_free(anyone);
      SSL_set_options(ssl_.get(), SSL_OP_NO_QUERY_MTU);
      DTLS_set_link_mtu(ssl_.get(), 1400);
    }
    SSL_set_connect_state(ssl_.get());
  }
  ~TlsClient() {
    ssl_.reset();
    ::close(ends_[0]);
    ::close(ends_[1]);
  }
  TlsClient(const TlsClient&) = delete;
  TlsClient& operator=(const TlsClient&) = delete;

  /// What it has to say after it was told this.
  std::vector<std::string> say(const std::vector<std::string>& told = {}) {
    for (const std::string& piece : told) {
      if (::send(ends_[1], piece.data(), piece.size(), 0) < 0) throw std::runtime_error("cannot tell it");
      step();
    }
    step();
    return out();
  }
  std::vector<std::string> write(std::string_view text) {
    SSL_write(ssl_.get(), text.data(), static_cast<int>(text.size()));
    ERR_clear_error();
    return out();
  }
  std::vector<std::string> end() {
    SSL_shutdown(ssl_.get());
    ERR_clear_error();
    return out();
  }
  bool connected() const { return SSL_is_init_finished(ssl_.get()) == 1; }
  const std::string& heard() const { return heard_; }
  SSL* ssl() const { return ssl_.get(); }

 private:
  struct Free {
    void operator()(SSL_CTX* one) const { SSL_CTX_free(one); }
    void operator()(SSL* one) const { SSL_free(one); }
  };

  void step() {
    if (!connected()) SSL_do_handshake(ssl_.get());
    std::array<char, 16384> piece{};
    for (int size = 1; connected() && size > 0;) {
      size = SSL_read(ssl_.get(), piece.data(), static_cast<int>(piece.size()));
      if (size > 0) heard_.append(piece.data(), static_cast<std::size_t>(size));
    }
    ERR_clear_error();
  }

  std::vector<std::string> out() const {
    std::vector<std::string> said;
    std::array<char, 65536> piece{};
    while (true) {
      const ssize_t size = ::recv(ends_[1], piece.data(), piece.size(), 0);
      if (size <= 0) return said;
      said.emplace_back(piece.data(), static_cast<std::size_t>(size));
    }
  }

  std::unique_ptr<SSL_CTX, Free> context_;
  std::unique_ptr<SSL, Free> ssl_;
  std::array<int, 2> ends_{-1, -1};
  std::string heard_;
};

}  // namespace vergeset::tests
