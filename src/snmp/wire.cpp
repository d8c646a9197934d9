#include "snmp/wire.h"

#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>

#include "smi/secret.h"
#include "snmp/failure.h"

namespace vergeset::snmp {

int connected_socket(const Address& address, int type) {
  const int made = socket(address.socket.ss_family, type | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  if (made < 0) return made;
  if (connect(made, reinterpret_cast<const sockaddr*>(&address.socket), address.size) != 0 &&
      errno != EINPROGRESS) {
    const int why = errno;
    close(made);
    errno = why;
    return -1;
  }
  return made;
}

UdpWire::UdpWire(EventLoop& loop, const Address& address)
    : loop_(loop), peer_(address.text), socket_(connected_socket(address, SOCK_DGRAM)) {
  if (socket_ < 0) {
    failure_ = send_error(SNMPERR_BAD_SENDTO, errno, peer_);
  } else {
    loop_.watch(socket_, [this] { readable(); });
  }
}

UdpWire::~UdpWire() {
  if (socket_ < 0) return;
  loop_.unwatch(socket_);
  close(socket_);
}

std::optional<Error> UdpWire::send(std::string_view message) {
  if (failure_) return failure_;
  // A refusal of an earlier datagram is told here too, in the place of sending.
  for (int tries = 0; tries < 2; ++tries) {
    if (::send(socket_, message.data(), message.size(), MSG_NOSIGNAL) >= 0) return std::nullopt;
    if (errno != ECONNREFUSED && errno != EINTR) break;
  }
  return send_error(SNMPERR_BAD_SENDTO, errno, peer_);
}

void UdpWire::readable() {
  static thread_local std::array<char, 65536> datagram;
  const ssize_t size = recv(socket_, datagram.data(), datagram.size(), 0);
  if (size >= 0) {
    if (heard) heard({datagram.data(), static_cast<std::size_t>(size)});
    wipe(datagram.data(), static_cast<std::size_t>(size));
  } else if (errno == ECONNREFUSED && refused) {
    refused(send_error(SNMPERR_BAD_SENDTO, ECONNREFUSED, peer_));
  }
}

}  // namespace vergeset::snmp
