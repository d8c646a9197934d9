#pragma once

#include <functional>
#include <optional>
#include <string_view>

#include "snmp/address.h"
#include "snmp/event_loop.h"
#include "snmp/network.h"

namespace vergeset::snmp {

/// Carries whole messages to one unit and back. What is heard, refused and closed is told from the
/// loop's turn, never from inside a call.
class Wire {
 public:
  Wire() = default;
  virtual ~Wire() = default;
  Wire(const Wire&) = delete;
  Wire& operator=(const Wire&) = delete;

  /// Where nothing could be sent, says why.
  virtual std::optional<Error> send(std::string_view message) = 0;

  std::function<void(std::string_view message)> heard;
  /// Something that was sent did not arrive; the system does not say what.
  std::function<void(const Error& why)> refused;
  /// Nothing that was sent will be answered any more.
  std::function<void(const Error& why)> closed;
};

/// Plain datagrams, from a connected socket: the system tells of a closed port, and what others send is not
/// read.
class UdpWire final : public Wire {
 public:
  UdpWire(EventLoop& loop, const Address& address);
  ~UdpWire() override;
  std::optional<Error> send(std::string_view message) override;

 private:
  void readable();

  EventLoop& loop_;
  std::string peer_;
  int socket_ = -1;
  std::optional<Error> failure_;
};

/// A socket of this kind that is connected to the address, or is about to be, and never blocks; below 0 where
/// there is none, with `errno`.
int connected_socket(const Address& address, int type);

}  // namespace vergeset::snmp
