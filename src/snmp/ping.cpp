#include "snmp/ping.h"

#include <arpa/inet.h>
#include <linux/errqueue.h>
#include <netdb.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <string>
#include <system_error>

#include "snmp/echo.h"

namespace vergeset::snmp {

namespace {

constexpr int most_tries = 3;
constexpr std::string_view payload = "vergeset reach";

std::string system_text(int error) {
  return std::generic_category().message(error);
}

/// One socket to one unit, and what came back over it.
class EchoSocket {
 public:
  EchoSocket(EventLoop& loop, const Address& address)
      : loop_(loop), protocol_(address.socket.ss_family == AF_INET6 ? Icmp::v6 : Icmp::v4) {
    const bool v6 = protocol_ == Icmp::v6;
    socket_ = ::socket(address.socket.ss_family, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK,
                       v6 ? static_cast<int>(IPPROTO_ICMPV6) : static_cast<int>(IPPROTO_ICMP));
    if (socket_ < 0) {
      fail(errno);
      return;
    }
    const int on = 1;  // what routers say is passed on then
    setsockopt(socket_, v6 ? SOL_IPV6 : SOL_IP, v6 ? IPV6_RECVERR : IP_RECVERR, &on, sizeof on);
    if (connect(socket_, reinterpret_cast<const sockaddr*>(&address.socket), address.size) != 0) {
      fail(errno);
      return;
    }
    loop_.watch(socket_, [this] { readable(); });
    watched_ = true;
  }
  ~EchoSocket() {
    if (watched_) loop_.unwatch(socket_);
    if (socket_ >= 0) close(socket_);
  }
  EchoSocket(const EchoSocket&) = delete;
  EchoSocket& operator=(const EchoSocket&) = delete;

  void send_try() {
    ++sequence_;
    sent_.at(sequence_) = std::chrono::steady_clock::now();
    const std::string request = echo_request(protocol_, 0, sequence_, payload);
    if (send(socket_, request.data(), request.size(), 0) >= 0) return;
    const int error = errno;
    while (take_error()) continue;  // what was heard of the try before
    if (!ended_) fail(error);
  }
  bool ended() const { return ended_; }
  const EventLoop::SlotPtr& slot() const { return slot_; }
  const Echo& echo() const { return echo_; }

 private:
  void end(Echo::Kind kind) {
    if (std::exchange(ended_, true)) return;
    echo_.kind = kind;
    loop_.wake(slot_);
  }
  void fail(int error) {
    const bool forbidden = socket_ < 0 && (error == EACCES || error == EPERM || error == EPROTONOSUPPORT);
    echo_.why = system_text(error);
    end(forbidden ? Echo::Kind::forbidden : Echo::Kind::failed);
  }

  void readable() {
    while (take_error()) continue;
    std::array<char, 2048> room{};
    for (ssize_t got = 0; (got = recv(socket_, room.data(), room.size(), 0)) >= 0 || errno != EAGAIN;) {
      if (got < 0) return fail(errno);
      const std::string_view message(room.data(), static_cast<std::size_t>(got));
      // An answer to an earlier try is as good.
      for (std::uint16_t number = 1; number <= sequence_; ++number) {
        if (!ended_ && is_reply(protocol_, message, number, payload)) answered(number);
      }
    }
  }
  void answered(std::uint16_t number) {
    echo_.round_trip =
        std::chrono::ceil<std::chrono::microseconds>(std::chrono::steady_clock::now() - sent_.at(number));
    end(Echo::Kind::answered);
  }

  /// Takes one message from the socket's queue of errors; false where it is empty.
  bool take_error() {
    std::array<char, 512> control{};
    std::array<char, 512> room{};
    iovec part{room.data(), room.size()};
    msghdr message{};
    message.msg_iov = &part;
    message.msg_iovlen = 1;
    message.msg_control = control.data();
    message.msg_controllen = control.size();
    if (recvmsg(socket_, &message, MSG_ERRQUEUE | MSG_DONTWAIT) < 0) return false;
    for (cmsghdr* one = CMSG_FIRSTHDR(&message); one != nullptr; one = CMSG_NXTHDR(&message, one)) {
      const bool ours = (one->cmsg_level == SOL_IP && one->cmsg_type == IP_RECVERR) ||
                        (one->cmsg_level == SOL_IPV6 && one->cmsg_type == IPV6_RECVERR);
      if (!ours || one->cmsg_len < CMSG_LEN(sizeof(sock_extended_err))) continue;
      sock_extended_err error{};
      std::memcpy(&error, CMSG_DATA(one), sizeof error);
      take_error(error, CMSG_DATA(one) + sizeof error, one->cmsg_len - CMSG_LEN(sizeof error));
    }
    return true;
  }
  void take_error(const sock_extended_err& error, const unsigned char* offender, std::size_t size) {
    std::array<char, NI_MAXHOST> host{};
    sockaddr_storage who{};
    std::memcpy(&who, offender, std::min(size, sizeof who));
    const socklen_t length = who.ss_family == AF_INET6 ? sizeof(sockaddr_in6) : sizeof(sockaddr_in);
    if (!ended_ && who.ss_family != AF_UNSPEC &&
        getnameinfo(reinterpret_cast<const sockaddr*>(&who), length, host.data(), host.size(), nullptr, 0,
                    NI_NUMERICHOST) == 0) {
      echo_.from = host.data();
    }
    if (!ended_) echo_.why = system_text(static_cast<int>(error.ee_errno));
    end(Echo::Kind::unreachable);
  }

  EventLoop& loop_;
  Icmp protocol_;
  int socket_ = -1;
  bool watched_ = false;
  bool ended_ = false;
  std::uint16_t sequence_ = 0;
  std::array<EventLoop::Moment, most_tries + 1> sent_{};  ///< by sequence, from 1
  EventLoop::SlotPtr slot_ = EventLoop::make_slot();
  Echo echo_;
};

/// While a unit is silent it takes no place among those at once (pace.h).
class Quiet {
 public:
  explicit Quiet(Pace& pace) : pace_(pace) {}
  ~Quiet() {
    if (quiet_) pace_.speaks_again();
  }
  Quiet(const Quiet&) = delete;
  Quiet& operator=(const Quiet&) = delete;
  void begins() {
    if (!std::exchange(quiet_, true)) pace_.falls_silent();
  }

 private:
  Pace& pace_;
  bool quiet_ = false;
};

}  // namespace

Task<Echo> ping(EventLoop& loop, Address address, std::chrono::milliseconds patience) {
  EchoSocket socket(loop, address);
  Quiet quiet(loop.pace());
  int tries = 0;
  while (!socket.ended() && tries < most_tries) {
    ++tries;
    socket.send_try();
    if (!socket.ended()) co_await loop.wait(socket.slot(), std::chrono::steady_clock::now() + patience);
    if (!socket.ended()) quiet.begins();
  }
  Echo echo = socket.echo();
  echo.tries = tries;
  co_return echo;
}

}  // namespace vergeset::snmp
