#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "smi/oid.h"
#include "smi/value.h"
#include "snmp/task.h"

namespace vergeset::snmp {

/// The seam between what happens to a unit and how it reaches the unit. Everything in change/ is
/// written against these classes, so that a whole change can be run in virtual time over a simulated
/// network. udp_network.h has the real one.

struct VarBind {
  smi::Oid oid;
  smi::Value value;
  bool operator==(const VarBind&) const = default;
};

/// Why a request has no result, each by its own cause so that the caller can tell what to do.
enum class Failure {
  no_answer,          ///< nothing came back within all tries
  unreachable,        ///< the system refused to send, or the port answered "closed"
  unknown_user,       ///< usmStatsUnknownUserNames (RFC 3414 3.2)
  wrong_auth,         ///< usmStatsWrongDigests
  wrong_privacy,      ///< usmStatsDecryptionErrors, or an answer that does not decrypt
  bad_level,          ///< usmStatsUnsupportedSecLevels
  clock_window,       ///< usmStatsNotInTimeWindows, even after resynchronising
  no_access,          ///< authorizationError, or noAccess
  error_status,       ///< another error-status of RFC 3416; see status and index
  too_big,            ///< tooBig, or more than a message may hold
  bad_answer,         ///< an answer that is none
  wrong_engine,       ///< another engine answers than Endpoint::only_engine; it was not spoken to
  local,              ///< this machine's fault: no descriptor, no such address family, no secret
  wrong_certificate,  ///< the unit's is not the one that was expected, or is signed by nobody who is trusted
  expired_certificate,  ///< the unit's by our clock, or ours by the unit's
  unknown_certificate,  ///< the unit does not know ours, or knows no user for it
  other_certificate,    ///< the unit's is another than this unit is stated or known to have; nothing was sent
};

struct Error {
  Failure failure = Failure::no_answer;
  int status = 0;                ///< error-status (RFC 3416 section 3)
  std::size_t index = 0;         ///< 1-based variable binding that it speaks of; 0 for none
  std::string text;              ///< one line for a person
  bool unsent = false;           ///< no_answer: it waited behind a request that was given up, and never left
  bool refused = false;          ///< unreachable: the unit's port is closed
  std::string engine = {};       ///< wrong_engine: the octets of the id that was heard
  std::string certificate = {};  ///< other_certificate: the fingerprint of the one that was shown
};

/// "noSuchName", "inconsistentValue", ... (RFC 3416 section 3).
std::string_view status_name(int status);

class [[nodiscard]] Answer {
 public:
  Answer(std::vector<VarBind> varbinds) : held_(std::move(varbinds)) {}
  Answer(Error error) : held_(std::move(error)) {}
  explicit operator bool() const { return held_.index() == 0; }
  const std::vector<VarBind>& varbinds() const { return std::get<0>(held_); }
  std::vector<VarBind> take() { return std::move(std::get<0>(held_)); }
  const Error& error() const { return std::get<1>(held_); }

 private:
  std::variant<std::vector<VarBind>, Error> held_;
};

/// What an agent says of itself when it is discovered (RFC 3414 section 4).
struct Engine {
  std::string id;           ///< octets
  std::uint32_t boots = 0;  ///< snmpEngineBoots
  std::uint32_t time = 0;   ///< snmpEngineTime: seconds since it last started
};

struct Traffic {
  std::uint64_t requests = 0;  ///< sent, each try counted
  std::uint64_t sets = 0;      ///< SETs sent
  std::uint64_t again = 0;     ///< tries after the first of a request
  std::uint64_t late = 0;      ///< answers that came after their request was sent again or given up
};

/// A conversation with one unit. Requests may overlap; a link sends no more of them side by side than
/// its unit seems to bear, and keeps the others waiting. Reads are tried again with growing timeouts;
/// a SET is sent exactly once, because a response that was lost says nothing about what was done.
class Link {
 public:
  virtual ~Link() = default;
  virtual Task<Answer> get(std::vector<smi::Oid> oids) = 0;
  virtual Task<Answer> get_next(std::vector<smi::Oid> oids) = 0;
  /// The next instance behind each of `once`, and as many as `repetitions` behind each of `repeated` (RFC
  /// 3416 4.2.3), as far as they fit a message.
  virtual Task<Answer> get_bulk(std::vector<smi::Oid> once, std::vector<smi::Oid> repeated,
                                int repetitions) = 0;
  Task<Answer> get_bulk(std::vector<smi::Oid> repeated, int repetitions) {
    return get_bulk(std::vector<smi::Oid>(), std::move(repeated), repetitions);
  }
  virtual Task<Answer> set(std::vector<VarBind> varbinds) = 0;
  /// Whether the unit, which has answered before, answers what takes few octets now: where it does, what was
  /// not answered may be too large for the way to it.
  virtual Task<bool> answers_little() { co_return false; }
  /// The unit's engine, its time as of now.
  virtual Engine engine() const = 0;
  /// "sha256:" and the digest in hex of the certificate that the unit showed; empty where it shows none.
  virtual std::string certificate() const { return {}; }
  virtual Traffic traffic() const = 0;
};

/// Who a link speaks as (RFC 3411 3.2.2.1): name, security level, and keys. Made by principals.h.
class Principal;

struct Endpoint {
  std::string host;
  std::uint16_t port = 161;
  int timeout_ms = 1500;  ///< for the first try of a request; later ones wait longer
  int retries = 3;        ///< of reads, after the first try
  /// The unit's engine as it was remembered, its time as of now: discovery is left out. Where the unit
  /// says otherwise, or nothing, it is discovered after all.
  std::optional<Engine> engine = {};
  /// Of the unit's certificate, where it is spoken to by one: "sha256:" and its digest in hex. It goes before
  /// what the principal says of units' certificates. Empty: none stated.
  std::string fingerprint = {};
  /// The certificate that the unit was seen to have; another is `other_certificate`, whoever signed it. Where
  /// a fingerprint is stated that one counts. Empty: not known.
  std::string known_certificate = {};
  /// The only engine that is joined. One that says another id when it is discovered is `wrong_engine`: no key
  /// of ours is localized to an id that a stranger chose, no SET leaves, and without a remembered `engine`
  /// nothing at all that a key went into. Where the engine is remembered, one round of reads may be on its
  /// way before the stranger says that it has another: what anyone on the way could have listened to at any
  /// visit.
  std::optional<std::string> only_engine = {};
  /// Each request leaves once, whatever gets lost, and none is made besides those that are asked for: for who
  /// is locked out where he fails too often.
  bool once = false;
};

/// A link, or why there is none.
struct Opened {
  std::unique_ptr<Link> link;
  Error error;
  explicit operator bool() const { return link != nullptr; }
};

class Network {
 public:
  virtual ~Network() = default;
  /// Discovers the engine (RFC 3414 section 4) and makes a link. Does not prove the user: the first
  /// request does.
  virtual Task<Opened> open(Endpoint endpoint, std::shared_ptr<const Principal> principal) = 0;
  virtual Task<void> sleep(std::chrono::milliseconds duration) = 0;
  /// Monotonic; for durations.
  virtual std::chrono::milliseconds now() const = 0;
  /// Runs begin(0), begin(1), ... begin(count - 1) until all are done, at most `at_once` of them at a
  /// time. Each is made when its turn comes. An exception of a task ends the others at their next wait
  /// and is thrown here.
  virtual void run_each(std::size_t count, const std::function<Task<void>(std::size_t)>& begin,
                        std::size_t at_once) = 0;
  /// The same with tasks that are there already.
  void run(std::vector<Task<void>> tasks, std::size_t at_once) {
    run_each(
        tasks.size(), [&tasks](std::size_t i) { return std::move(tasks[i]); }, at_once);
  }
};

}  // namespace vergeset::snmp
