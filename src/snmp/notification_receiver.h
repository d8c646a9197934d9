#pragma once

#include <array>
#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "snmp/bucket.h"
#include "snmp/notification.h"
#include "snmp/principal.h"
#include "snmp/usm_message.h"

namespace vergeset::snmp {

/// Who may send notifications: a unit as it is seen on the wire.
struct Sender {
  std::string address;    ///< 16 octets, an IPv4 address mapped (RFC 4291 2.5.5.2)
  std::string engine_id;  ///< octets; empty: not known, and none of its traps can be told from a stranger's
  std::shared_ptr<const Principal> principal;
};

/// Why a datagram was dropped, in the order in which it is asked; each is counted.
enum class Dropped {
  unknown_sender,     ///< from an address that is no unit's
  over_rate,          ///< more than the rate allows, of its address, of all, or of one unit's notifications
  malformed,          ///< no message of SNMP, or one of more octets than are read
  unknown_engine,     ///< an engine that is not the unit's, or that of a unit whose engine is not known
  unknown_user,       ///< usmStatsUnknownUserNames (RFC 3414 3.2 4)
  wrong_level,        ///< usmStatsUnsupportedSecLevels, or less secure than the unit's credential
  wrong_digest,       ///< usmStatsWrongDigests
  outside_window,     ///< usmStatsNotInTimeWindows
  not_decrypted,      ///< usmStatsDecryptionErrors, or octets without sense behind it
  wrong_community,    ///< of SNMPv1 and SNMPv2c
  no_handshake,       ///< of TLS or DTLS that led to a connection, or octets of no connection that there is
  wrong_certificate,  ///< another than the unit's, or none
  other_pdu,          ///< no notification, or one of another kind than this message may carry
  repeated,           ///< the same one once more
};
inline constexpr std::size_t dropped_kinds = 14;

/// "unknown sender", "over the rate", ...
std::string_view dropped_name(Dropped reason);

/// Takes datagrams for the notifications of known units, or drops them. Pure: the time is told, nothing is
/// sent.
///
/// Of a trap the sender is the authoritative engine (RFC 3412 6.4, RFC 3414 3.2): its engine id must be the
/// one that is known of the unit at its address, its keys are those of that engine, and its clock is followed
/// as a non-authoritative engine does (3.2 7b), so that what was recorded does not count once it is 150 s
/// old. Of an inform this is the authoritative engine: it is discovered and its clock is asked for by Reports
/// (3.2 3, 7a), and keys are those of a password at this engine. A user whose keys are localized to the
/// unit's engine has none here, and its informs are of an unknown user.
///
/// Costs of what is hostile: an address that is no unit's is looked up and forgotten, without any answer.
/// What comes from a unit's address has a rate of its own before anything is computed, and no PDU is parsed
/// before its digest or community was right. Memory is a fixed part a unit, and 2 KB for one that sends much:
/// which of its notifications were taken within the window is remembered, and where that is full no more are
/// taken, so that none is taken twice.
///
/// With a community there is neither digest nor window: its word is that of anyone who can forge an address.
///
/// Over TLS and DTLS (RFC 6353, RFC 5591) whoever holds the connection has looked at the unit's certificate
/// before; a message has nothing left to prove.
class NotificationReceiver {
 public:
  using Time = std::chrono::milliseconds;

  /// This engine: its id, which stays, and its boots, which count up (RFC 3414 2.2). Its time counts from
  /// `began`.
  struct Own {
    std::string engine_id;
    std::uint32_t boots = 0;
    Time began{0};
  };

  struct Taken {
    std::optional<Dropped> dropped;
    std::optional<std::size_t> sender;         ///< which of the senders, where that is known
    std::optional<Notification> notification;  ///< what is new
    std::uint64_t print = 0;                   ///< for forget()
    std::string report;                        ///< to be sent back at once: a Report, which grants nothing
    std::string response;  ///< acknowledges an inform: to be sent once all that was taken before is on disk
  };

  NotificationReceiver(std::vector<Sender> senders, Own own);

  /// `from` as Sender::address. `cut`: the datagram had more octets than were read.
  Taken take(std::string_view datagram, const std::string& from, bool cut, Time now);
  /// What came over a connection on which the sender has shown its certificate.
  Taken take_certified(std::string_view message, std::size_t sender, Time now);
  /// What was dropped before it was a message, by whoever holds the port.
  void count(Dropped reason) { ++dropped_[static_cast<std::size_t>(reason)]; }
  /// An inform was taken and is not kept: when it comes again it counts as new.
  void forget(std::size_t sender, std::uint64_t print);

  /// What an exchange with a sender has told of its engine, its time as of `now`. It counts even where it is
  /// less than what traps told: an agent that lost its boots would never be heard again.
  void learn(std::size_t sender, const Engine& engine, Time now);
  /// The engine as its traps told it, its time as of `now`; nothing where none did.
  std::optional<Engine> engine_of(std::size_t sender, Time now) const;

  std::uint64_t dropped(Dropped reason) const { return dropped_[static_cast<std::size_t>(reason)]; }
  std::uint64_t received() const { return received_; }
  std::uint64_t discoveries() const { return discoveries_; }

 private:
  struct Seen {
    std::uint64_t print = 0;
    std::int64_t until_s = 0;
  };
  struct State {
    Bucket rate;
    std::uint32_t boots = 0;
    std::uint32_t latest = 0;  ///< latestReceivedEngineTime (RFC 3414 2.3)
    Time stamped{0};
    bool clock_known = false;
    bool told = false;  ///< by a trap
    std::vector<Seen> seen;
  };
  using Candidates = std::vector<std::uint32_t>;

  /// What of a message is known to be its sender's.
  struct Proven {
    std::size_t sender = 0;
    std::string_view pdu;    ///< with its head
    std::string_view print;  ///< what makes it the same once more
    std::int64_t window_s = 0;
  };

  Taken drop(Dropped reason, std::optional<std::size_t> sender = {});
  Taken take_third(std::string_view datagram, const Candidates& here, Time now);
  Taken take_trap(const UsmMessage& message, std::size_t sender, Time now);
  Taken take_inform(const UsmMessage& message, const Candidates& here, Time now);
  Taken take_community(std::string_view datagram, const Candidates& here, Time now);
  Taken take_pdu(const Proven& proven, Time now);
  /// Drops a message that names this engine; with a Report where its sender wants one.
  Taken refuse(Dropped reason, const UsmMessage& message, const Candidates& here, const UsmKeys& keys,
               Time now);
  std::string report(const UsmMessage& message, std::uint32_t counter, std::uint64_t count,
                     const UsmKeys& keys, Time now) const;
  std::optional<std::size_t> author(const Candidates& proven, std::string_view context_engine) const;
  static bool in_window(State& state, const UsmMessage& message, Time now);
  bool in_own_window(const UsmMessage& message, Time now) const;
  std::uint32_t own_time(Time now) const;

  std::vector<Sender> senders_;
  std::vector<State> states_;
  std::unordered_map<std::string, Candidates> by_address_;
  std::unordered_map<std::string, std::uint32_t> by_engine_;
  Own own_;
  Bucket all_;
  std::array<std::uint64_t, dropped_kinds> dropped_{};
  std::uint64_t received_ = 0;
  std::uint64_t discoveries_ = 0;
};

}  // namespace vergeset::snmp
