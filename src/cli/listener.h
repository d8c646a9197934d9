#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "cli/listen_audits.h"
#include "cli/live.h"
#include "records/notification_log.h"
#include "records/own_engine.h"
#include "report/listen_text.h"
#include "report/screen.h"
#include "snmp/notification_receiver.h"
#include "snmp/tls_server.h"
#include "snmp/udp_port.h"

namespace vergeset::cli {

struct ListenWishes {
  std::vector<std::string> addresses;  ///< empty: all of this machine, IPv4 and IPv6
  std::uint16_t port = 162;
  std::uint16_t tls_port = 10162;   ///< snmptls-trap and snmpdtls-trap (RFC 6353 12)
  std::chrono::seconds seconds{0};  ///< 0: until a signal
  bool audit = false;
  std::chrono::seconds audit_after{30};
  bool json = false;
};

/// What these units may send, as the receiver wants it; and what of it cannot be heard, one line each.
struct Listened {
  std::vector<snmp::Sender> senders;           ///< one a unit, in their order
  std::vector<snmp::TlsServer::Guest> guests;  ///< of the same units, those that connect by certificate
  bool plain = false;                          ///< whether any unit needs the UDP port
  std::vector<std::string> notes;
  bool any = false;  ///< whether anything can be heard at all
};
Listened listened_of(const fleet::Fleet& fleet, Live& live, const std::vector<const fleet::Unit*>& units);

/// `vergeset listen` while it runs: what comes from the ports goes to the receiver, what it takes goes to the
/// units' logs, and what is acknowledged goes back when the logs are on disk. One turn of the loop is one
/// such round.
class Listener {
 public:
  Listener(Ready& ready, const ListenWishes& wishes, records::OwnEngine own, Listened listened);

  /// Binds the ports. A problem where one cannot be.
  std::optional<Problem> open();
  /// Tells where it listens and what it cannot hear.
  void announce(const std::vector<std::string>& notes);
  /// Until a signal, or the end of the time that was wished for.
  void run();
  void summary();

 private:
  using Time = std::chrono::milliseconds;
  struct Answer {
    snmp::UdpPort* port = nullptr;  ///< null: over the connection
    snmp::UdpPort::Way way{};
    snmp::TlsServer::Connection connection = 0;
    std::string octets{};
  };
  struct Refused {
    std::string why;
    Time told{0};
  };

  std::optional<Problem> open_ports(std::uint16_t port,
                                    const std::function<std::optional<Problem>(const snmp::Address&)>& open);
  snmp::TlsServer::Told told();
  void came(snmp::UdpPort& port, const snmp::UdpPort::Came& came);
  void take(snmp::NotificationReceiver::Taken& taken, Time now);
  void refused(snmp::Dropped reason, std::optional<std::size_t> sender, const std::string& why);
  void keep(snmp::NotificationReceiver::Taken& taken, Time now);
  void turn();
  snmp::Task<void> watch();
  bool over() const;
  void tell_counts();
  void ask_records(Time now);
  void remember_clocks(Time now);
  void learn(std::size_t sender, const records::Engines& engines, const records::KnownUnits& known, Time now);
  void show(const std::string& unit, const std::string& what, const report::Json& event);
  void audited(const change::Audited& unit);
  void kept(const std::string& record, std::size_t units);
  report::Heard heard() const;

  Ready& ready_;
  Live& live_;
  ListenWishes wishes_;
  records::OwnEngine own_;
  Time began_;
  snmp::NotificationReceiver receiver_;
  records::NotificationLog log_;
  ListenAudits audits_;
  report::Screen screen_;
  snmp::TlsServer tls_;
  bool plain_;
  std::vector<std::unique_ptr<snmp::UdpPort>> ports_;
  std::vector<Answer> answers_;      ///< of this turn, for when the logs are on disk
  std::set<std::size_t> heard_of_;   ///< whose clocks are to be remembered
  std::set<std::size_t> asked_for_;  ///< of whom the records may know more by now
  std::vector<bool> has_sent_;
  std::map<std::size_t, Refused> refused_;  ///< why units are not heard, as it was last told
  report::Heard counts_;
  bool ended_ = false;
};

}  // namespace vergeset::cli
