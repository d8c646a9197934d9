#pragma once

#include <netinet/in.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <poll.h>
#include <signal.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <ctime>
#include <memory>
#include <stdexcept>
#include <string>
#include <thread>

#include "support/certificates.h"
#include "support/snmpd.h"

namespace vergeset::tests {

/// Stands before an agent that speaks TLS 1.0 alone, as net-snmp 5.9.3 does over TCP, and speaks newer
/// versions in its place: what is inside passes through both ways. One connection at a time.
class TlsFront {
 public:
  struct Wish {
    const MadeCertificate* shown;    ///< to who connects
    const MadeCertificate* trusted;  ///< who signs those that connect
    const MadeCertificate* behind;   ///< shown to the agent
    std::uint16_t agent;             ///< its port
    int version = TLS1_3_VERSION;    ///< and no other
    long clock_ahead_s = 0;          ///< of its own clock
  };
  /// On a free port where none is given.
  TlsFront(Wish wish, std::string host, std::uint16_t port = 0)
      : wish_(wish), host_(std::move(host)), listening_(socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in address = UdpSocket::address_of(host_, port);
    socklen_t size = sizeof address;
    const int again = 1;  // what a predecessor left closing does not hold up
    setsockopt(listening_, SOL_SOCKET, SO_REUSEADDR, &again, sizeof again);
    if (bind(listening_, reinterpret_cast<sockaddr*>(&address), size) != 0 || listen(listening_, 8) != 0) {
      throw std::runtime_error("cannot listen at " + host_);
    }
    getsockname(listening_, reinterpret_cast<sockaddr*>(&address), &size);
    port_ = ntohs(address.sin_port);
    thread_ = std::thread([this] {
      // Who connects may go at any moment.
      sigset_t pipe;
      sigemptyset(&pipe);
      sigaddset(&pipe, SIGPIPE);
      pthread_sigmask(SIG_BLOCK, &pipe, nullptr);
      serve();
    });
  }
  ~TlsFront() {
    stop_ = true;
    thread_.join();
    close(listening_);
  }
  TlsFront(const TlsFront&) = delete;
  TlsFront& operator=(const TlsFront&) = delete;
  std::uint16_t port() const { return port_; }

 private:
  struct Free {
    void operator()(SSL_CTX* one) const { SSL_CTX_free(one); }
    void operator()(SSL* one) const { SSL_free(one); }
  };
  using Context = std::unique_ptr<SSL_CTX, Free>;
  using Connection = std::unique_ptr<SSL, Free>;

  static Context context_of(const SSL_METHOD* method, const MadeCertificate& shown) {
    Context context(SSL_CTX_new(method));
    show(context.get(), shown);
    return context;
  }

  Context front() const {
    Context context = context_of(TLS_server_method(), *wish_.shown);
    SSL_CTX_set_min_proto_version(context.get(), wish_.version);
    SSL_CTX_set_max_proto_version(context.get(), wish_.version);
    SSL_CTX_set_verify(context.get(), SSL_VERIFY_PEER | SSL_VERIFY_FAIL_IF_NO_PEER_CERT, nullptr);
    trust(context.get(), *wish_.trusted);
    X509_VERIFY_PARAM_set_time(SSL_CTX_get0_param(context.get()), std::time(nullptr) + wish_.clock_ahead_s);
    return context;
  }

  bool waits_for(int descriptor) const {
    pollfd ready{descriptor, POLLIN, 0};
    return poll(&ready, 1, 50) == 1;
  }

  void serve() {
    const Context context = front();
    while (!stop_) {
      if (!waits_for(listening_)) continue;
      const int socket = accept4(listening_, nullptr, nullptr, SOCK_CLOEXEC);
      const timeval most{2, 0};
      setsockopt(socket, SOL_SOCKET, SO_RCVTIMEO, &most, sizeof most);
      const Connection near(SSL_new(context.get()));
      SSL_set_fd(near.get(), socket);
      if (SSL_accept(near.get()) == 1) pass_on(*near);
      ERR_clear_error();
      close(socket);
    }
  }

  void pass_on(SSL& near) const {
    const int socket = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    const sockaddr_in address = UdpSocket::address_of(host_, wish_.agent);
    const Context context = context_of(TLS_client_method(), *wish_.behind);
    SSL_CTX_set_min_proto_version(context.get(), TLS1_VERSION);
    SSL_CTX_set_security_level(context.get(), 0);
    const Connection far(SSL_new(context.get()));
    SSL_set_fd(far.get(), socket);
    if (connect(socket, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0 &&
        SSL_connect(far.get()) == 1) {
      while (!stop_ && pump(near, *far) && pump(*far, near)) continue;
    }
    close(socket);
  }

  /// False where it has been closed.
  bool pump(SSL& from, SSL& to) const {
    if (SSL_pending(&from) == 0 && !waits_for(SSL_get_fd(&from))) return true;
    std::array<char, 16384> piece{};
    const int size = SSL_read(&from, piece.data(), static_cast<int>(piece.size()));
    return size > 0 && SSL_write(&to, piece.data(), size) == size;
  }

  Wish wish_;
  std::string host_;
  int listening_;
  std::uint16_t port_ = 0;
  std::atomic<bool> stop_ = false;
  std::thread thread_;
};

}  // namespace vergeset::tests
