#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "snmp/unit_certificate.h"
#include "snmp/wire.h"

namespace vergeset::snmp {

/// Messages over TLS or DTLS (RFC 6353). Both sides show a certificate: what is wrong with the unit's
/// (unit_certificate.h) and what the unit says of ours are failures of their own. The handshake never holds
/// up the loop.
class TlsWire final : public Wire {
 public:
  TlsWire(EventLoop& loop, const Address& address, std::shared_ptr<const Certified> ours,
          ExpectedCertificate expected);
  ~TlsWire() override;

  bool connected() const { return state_ == State::connected; }
  /// The fingerprint of the unit's certificate that was accepted last; empty before the first.
  const std::string& certificate() const { return shown_; }
  /// Connects and shakes hands, within this time, or waits for the handshake that is under way.
  Task<std::optional<Error>> connect(std::chrono::milliseconds within);
  /// A unit that has started over does not know a DTLS connection any more, and does not say so.
  void doubt();

  std::optional<Error> send(std::string_view message) override;

 private:
  enum class State { closed, connecting, connected };
  using Moment = EventLoop::Moment;

  Task<std::optional<Error>> shake_hands(Moment until);
  std::optional<Error> begin();
  std::optional<Error> arrived() const;
  Moment next_look(Moment until) const;
  Error not_shaken(int result, bool in_time) const;
  Error alert_error() const;
  Error lost() const;

  static int verify(X509_STORE_CTX* store, void*);
  static void note_alert(const SSL* ssl, int where, int what);
  void ready();
  void read_all();
  void take_messages();
  bool flush();
  void close_down();
  void close_with(const Error& why);

  EventLoop& loop_;
  Address address_;
  std::shared_ptr<const Certified> ours_;
  ExpectedCertificate expected_;
  State state_ = State::closed;
  int socket_ = -1;
  Owned<SSL> ssl_;
  std::optional<Error> refusal_;  ///< of the unit's certificate
  std::string shown_;             ///< fingerprint of the unit's certificate
  bool accepted_ = false;         ///< the unit's certificate
  int alert_ = 0;                 ///< that came from the unit
  EventLoop::SlotPtr waiting_;    ///< of the handshake
  std::vector<EventLoop::SlotPtr> others_;
  std::optional<Error> outcome_;  ///< of the handshake before, for those others
  std::string in_;
  std::string out_;
};

}  // namespace vergeset::snmp
