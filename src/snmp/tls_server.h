#pragma once

#include <array>
#include <chrono>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

#include "smi/result.h"
#include "snmp/address.h"
#include "snmp/bucket.h"
#include "snmp/event_loop.h"
#include "snmp/notification_receiver.h"
#include "snmp/tls_session.h"
#include "snmp/udp_port.h"
#include "snmp/unit_certificate.h"

namespace vergeset::snmp {

/// Where units connect over TLS and DTLS to send what nobody asked for (RFC 6353 5.4). Ours is the
/// certificate of the unit's credential; the unit's must be the one that is expected of a unit at its
/// address.
///
/// Costs of what is hostile: whoever is at no unit's address is closed or forgotten at once, before OpenSSL
/// sees anything. An address has a rate of datagrams and one of handshakes, all together another of
/// handshakes, and a handshake has ten seconds. There are at most four handshakes and four connections a
/// unit, and those of a fleet are bounded too. For one more handshake the oldest one goes; for one more
/// connection the one that was used last the longest ago: who has shown no certificate ends nobody's
/// connection.
class TlsServer {
 public:
  using Time = std::chrono::milliseconds;
  using Connection = std::uint64_t;

  /// A unit that may connect; with `ours` null it may not.
  struct Guest {
    std::string address;  ///< as Sender::address
    std::shared_ptr<const Certified> ours;
    ExpectedCertificate expected;
  };
  struct Told {
    std::function<void(std::size_t guest, Connection from, const std::string& message)> came;
    /// After the messages of one turn.
    std::function<void()> turn;
    /// `guest` where there is no other at its address, `why` in words where there is something to be said.
    std::function<void(Dropped reason, std::optional<std::size_t> guest, const std::string& why)> dropped;
  };

  struct Limits {
    Time handshake_within = std::chrono::seconds(10);
    Bucket::Rate datagrams{400, 100};       ///< of one address, before anything is computed
    Bucket::Rate handshakes{20, 2};         ///< of one address
    Bucket::Rate all_handshakes{400, 200};  ///< some milliseconds of a processor each
  };

  TlsServer(EventLoop& loop, std::vector<Guest> guests, Told told, const Limits& limits);
  TlsServer(EventLoop& loop, std::vector<Guest> guests, Told told)
      : TlsServer(loop, std::move(guests), std::move(told), Limits{}) {}
  ~TlsServer();
  TlsServer(const TlsServer&) = delete;
  TlsServer& operator=(const TlsServer&) = delete;

  bool any(bool datagrams) const;
  /// Binds to the address, for TLS over TCP or for DTLS over UDP. A problem says why it could not, and what
  /// to do; `option` is the one that gives the port.
  std::optional<Problem> open(const Address& address, bool datagrams, const std::string& option);
  /// "192.0.2.1:10162", of those that are open.
  std::vector<std::string> names(bool datagrams) const;

  /// Another certificate is known of a unit by now.
  void expect(std::size_t guest, const std::string& known) { guests_[guest].expected.known = known; }
  /// Where the connection is gone, or takes nothing any more, it is lost.
  void send(Connection to, std::string_view message);
  /// About once a second: handshakes are sent again or given up.
  void tend();

  std::size_t open_connections() const { return open_.size(); }
  std::uint64_t connections() const { return connections_; }  ///< whose certificate was accepted
  std::uint64_t lost() const;                                 ///< datagrams, as UdpPort::lost()

 private:
  struct Open;
  struct Here {
    std::vector<std::size_t> guests;
    Bucket datagrams;
    Bucket handshakes;
    std::vector<Connection> open;
  };

  Time now() const;
  SSL_CTX* context_for(const Here& here, bool datagrams);
  bool judge(X509_STORE_CTX& store, Open& open);
  std::optional<Error> refusal(X509_STORE_CTX& store, std::size_t guest) const;
  void drop(Dropped reason, const Here* here, const std::string& why = {});
  bool may_shake(Here& here);
  void make_room(const Here& here, bool connected, Connection but);
  Open& add(const std::string& address);
  void accept_some(int listening);
  void accept_one(int socket, const sockaddr_storage& peer);
  void readable(Connection which);
  void datagram(UdpPort& port, const UdpPort::Came& came);
  void greet(UdpPort& port, const UdpPort::Came& came, Here& here, const std::string& peer);
  /// What a session has to say and to tell, after anything that came. False where it is over, and gone.
  bool settle(Open& open);
  bool flush(Open& open);
  void remove(Connection which);

  EventLoop& loop_;
  std::vector<Guest> guests_;
  Told told_;
  Limits limits_;
  std::unordered_map<std::string, Here> by_address_;
  std::map<const Certified*, Owned<SSL_CTX>> contexts_;
  std::vector<int> listening_;
  std::vector<std::unique_ptr<UdpPort>> ports_;
  std::map<Connection, std::unique_ptr<Open>> open_;
  std::unordered_map<std::string, Connection> by_peer_;  ///< of DTLS
  Bucket all_handshakes_;
  std::size_t most_open_;
  Connection next_ = 1;
  std::uint64_t connections_ = 0;
};

}  // namespace vergeset::snmp
