#include "cli/listener.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "cli/audit_keep.h"
#include "cli/print.h"
#include "records/clock.h"
#include "report/notification_text.h"
#include "report/words.h"
#include "smi/value.h"
#include "snmp/address.h"

namespace vergeset::cli {

namespace {

constexpr std::chrono::milliseconds a_while{1000};
constexpr std::chrono::milliseconds records_at_most_every = std::chrono::minutes(1);
constexpr std::chrono::milliseconds counts_every = std::chrono::minutes(10);

/// authenticationFailure (RFC 3418) tells of someone else, and an audit that the unit refuses would call the
/// next.
bool calls_for_audit(const snmp::Notification& notification) {
  static const smi::Oid refusal{1, 3, 6, 1, 6, 3, 1, 1, 5, 5};
  return notification.id != refusal;
}

std::string engine_of(const fleet::Unit& unit, const records::KnownUnits& known,
                      const records::Engines& engines) {
  if (!unit.engine_id.empty()) {
    const auto stated = smi::from_hex(unit.engine_id);
    return stated ? *stated : std::string();
  }
  if (const auto expected = known.expected(unit.name)) return *expected;
  const auto cached = engines.find(unit.name);
  return cached ? cached->id : std::string();
}

/// How many units, and up to three of them by name.
std::string some_of(const std::vector<std::string>& names) {
  std::string text = report::counted(names.size(), "unit") + " (";
  for (std::size_t i = 0; i < std::min<std::size_t>(names.size(), 3); ++i)
    text += (i > 0 ? ", " : "") + names[i];
  return text + (names.size() > 3 ? ", ...)" : ")");
}

/// Units by what of theirs cannot be heard.
struct Unheard {
  std::vector<std::string> no_keys;
  std::vector<std::string> stored;
  std::vector<std::string> no_engine;
  std::vector<std::string> no_address;

  std::vector<std::string> notes() const {
    std::vector<std::string> told;
    const auto add = [&told](const std::vector<std::string>& names, const char* text) {
      if (!names.empty()) told.push_back(some_of(names) + ": " + text);
    };
    add(no_keys,
        "no keys are stored, so that nothing of theirs can be authenticated: vergeset rekey gives keys");
    add(stored,
        "keys of the key store are localized to the unit's own engine (RFC 3414 2.6): their traps are "
        "received, "
        "informs are not, since for these a unit needs keys at this engine. Let such units send traps");
    add(no_engine,
        "the engine is not known yet, so that traps are dropped until an audit or a survey has met the unit, "
        "or "
        "the inventory has its engine-id");
    add(no_address, "no address was found for the host name");
    return told;
  }
};

}  // namespace

Listened listened_of(const fleet::Fleet& fleet, Live& live, const std::vector<const fleet::Unit*>& units) {
  Listened out;
  Unheard unheard;
  for (const fleet::Unit* unit : units) {
    snmp::Sender sender;
    const auto address = snmp::resolve(unit->host, unit->port);
    const auto credential = fleet.credentials.find(unit->credential);
    const bool user =
        credential != fleet.credentials.end() && credential->second.kind == fleet::Credential::Kind::user;
    if (address) sender.address = snmp::sixteen_octets(address->socket);
    sender.principal = live.world.principal_of(*unit);
    if (user) sender.engine_id = engine_of(*unit, live.known, live.engines);
    if (!address) unheard.no_address.push_back(unit->name);
    snmp::TlsServer::Guest guest{sender.address, nullptr, {unit->host, unit->fingerprint, {}}};
    if (!sender.principal) {
      unheard.no_keys.push_back(unit->name);
    } else if (sender.principal->model == snmp::Principal::Model::certificate) {
      guest.ours = sender.principal->certified;
    } else if (user) {
      if (credential->second.stored) unheard.stored.push_back(unit->name);
      if (sender.engine_id.empty()) unheard.no_engine.push_back(unit->name);
    }
    out.any = out.any || (address && sender.principal);
    out.plain = out.plain || (address && sender.principal && !guest.ours);
    out.senders.push_back(std::move(sender));
    out.guests.push_back(std::move(guest));
  }
  out.notes = unheard.notes();
  return out;
}

Listener::Listener(Ready& ready, const ListenWishes& wishes, records::OwnEngine own, Listened listened)
    : ready_(ready),
      live_(*ready.live),
      wishes_(wishes),
      own_(std::move(own)),
      began_(live_.network.now()),
      receiver_(std::move(listened.senders), {own_.id, own_.boots, began_}),
      log_(live_.disk, live_.clock),
      audits_(live_, head_of(ready.fleet, {}, live_.clock.now()), wishes.audit_after,
              {[this](const fleet::Unit& unit, const std::string& what) { log_.note(unit.name, what); },
               [this](const change::Audited& unit) { audited(unit); },
               [this](const std::string& record, std::size_t units) { kept(record, units); }}),
      screen_(screen_here()),
      tls_(live_.network.loop(), std::move(listened.guests), told()),
      plain_(listened.plain),
      has_sent_(ready.units.size(), false) {
  for (std::size_t i = 0; i < ready_.units.size(); ++i) learn(i, live_.engines, live_.known, began_);
}

std::optional<Problem> Listener::open() {
  if (plain_ && tls_.any(true) && wishes_.port == wishes_.tls_port && wishes_.port != 0)
    return Problem{"--port and --tls-port are the same: units with users and units over DTLS need one each"};
  if (plain_) {
    auto problem = open_ports(wishes_.port, [this](const snmp::Address& address) -> std::optional<Problem> {
      auto port = snmp::UdpPort::open(
          live_.network.loop(), address, "--port",
          [this](snmp::UdpPort& from, const snmp::UdpPort::Came& datagram) { came(from, datagram); },
          [this] { turn(); });
      if (!port) return Problem{port.problem()};
      ports_.push_back(*std::move(port));
      return std::nullopt;
    });
    if (problem) return problem;
  }
  for (const bool datagrams : {false, true}) {
    if (!tls_.any(datagrams)) continue;
    auto problem = open_ports(wishes_.tls_port, [this, datagrams](const snmp::Address& address) {
      return tls_.open(address, datagrams, "--tls-port");
    });
    if (problem) return problem;
  }
  return std::nullopt;
}

/// On all addresses that were wished for. A machine without IPv6 listens on IPv4 alone, and the other way
/// round.
std::optional<Problem> Listener::open_ports(
    std::uint16_t port, const std::function<std::optional<Problem>(const snmp::Address&)>& open) {
  const bool chosen = !wishes_.addresses.empty();
  const std::vector<std::string> addresses =
      chosen ? wishes_.addresses : std::vector<std::string>{"0.0.0.0", "::"};
  std::optional<Problem> failure;
  bool any = false;
  for (const std::string& one : addresses) {
    const auto address = snmp::resolve(one, port);
    if (!address) return Problem{address.problem()};
    auto problem = open(*address);
    any = any || !problem;
    if (problem && chosen) return problem;
    if (problem) failure = std::move(problem);
  }
  return any ? std::nullopt : failure;
}

snmp::TlsServer::Told Listener::told() {
  return {[this](std::size_t sender, snmp::TlsServer::Connection from, const std::string& message) {
            const Time now = live_.network.now();
            auto taken = receiver_.take_certified(message, sender, now);
            if (!taken.report.empty()) tls_.send(from, taken.report);
            take(taken, now);
            if (!taken.response.empty()) answers_.push_back({nullptr, {}, from, std::move(taken.response)});
          },
          [this] { turn(); },
          [this](snmp::Dropped reason, std::optional<std::size_t> sender, const std::string& why) {
            refused(reason, sender, why);
          }};
}

/// Why a unit is not heard over TLS or DTLS, which may be wrong at the unit or in the fleet's files. Anyone
/// at its address can bring it about: it is told, at most every ten minutes where it stays the same, and not
/// written.
void Listener::refused(snmp::Dropped reason, std::optional<std::size_t> sender, const std::string& why) {
  receiver_.count(reason);
  if (!sender || why.empty()) return;
  if (reason == snmp::Dropped::wrong_certificate) asked_for_.insert(*sender);
  const Time now = live_.network.now();
  Refused& last = refused_[*sender];
  if (last.told.count() > 0 && now - last.told < (last.why == why ? counts_every : a_while)) return;
  last = {why, now};
  show(ready_.units[*sender]->name, "not heard: " + why, {{"event", "refused"}});
}

void Listener::announce(const std::vector<std::string>& notes) {
  std::vector<std::string> names;
  for (const auto& port : ports_) names.push_back(port->name());
  const auto over_tls = tls_.names(false);
  const auto over_dtls = tls_.names(true);
  if (wishes_.json) {
    report::Json event = report::document("listen");
    event["event"] = "listening";
    event["ports"] = names;
    event["tls-ports"] = over_tls;
    event["dtls-ports"] = over_dtls;
    event["engine"] = smi::to_hex(own_.id);
    event["boots"] = own_.boots;
    event["units"] = ready_.units.size();
    event["notes"] = notes;
    print(report::dump_line(event));
    return;
  }
  for (const std::string& name : over_tls) names.push_back(name + " (TLS)");
  for (const std::string& name : over_dtls) names.push_back(name + " (DTLS)");
  std::string text = "listening on ";
  for (std::size_t i = 0; i < names.size(); ++i)
    text += (i == 0 ? "" : i + 1 == names.size() ? " and " : ", ") + names[i];
  print(text + fmt::format(" for {}\nas engine {}, to which informs are sent\n",
                           report::counted(ready_.units.size(), "unit"), smi::to_hex(own_.id)));
  for (const std::string& note : notes) print_aside("note: " + note + "\n");
}

void Listener::came(snmp::UdpPort& port, const snmp::UdpPort::Came& datagram) {
  const Time now = live_.network.now();
  auto taken = receiver_.take(datagram.octets, datagram.from, datagram.cut, now);
  if (!taken.report.empty()) port.send(datagram.way, taken.report);
  take(taken, now);
  if (!taken.response.empty()) answers_.push_back({&port, datagram.way, 0, std::move(taken.response)});
}

void Listener::take(snmp::NotificationReceiver::Taken& taken, Time now) {
  if (taken.notification) keep(taken, now);
  if (taken.sender &&
      (taken.dropped == snmp::Dropped::unknown_engine || taken.dropped == snmp::Dropped::outside_window)) {
    asked_for_.insert(*taken.sender);
  }
}

/// Into the unit's log, or, where an inform has no place there, as if it had not come.
void Listener::keep(snmp::NotificationReceiver::Taken& taken, Time now) {
  const std::size_t sender = *taken.sender;
  const fleet::Unit& unit = *ready_.units[sender];
  const snmp::Notification& notification = *taken.notification;
  const bool inform = notification.kind == snmp::Notification::Kind::inform;
  const auto words = report::notification_words(*unit.model, notification);
  const auto took = log_.add(unit.name, {words.name, words.line, inform}, now);
  if (took == records::NotificationLog::Took::refused) {
    receiver_.forget(sender, taken.print);
    taken.response.clear();
    return;
  }
  ++counts_.notifications;
  if (inform) ++counts_.acknowledged;
  if (!has_sent_[sender]) ++counts_.units;
  has_sent_[sender] = true;
  heard_of_.insert(sender);
  if (wishes_.audit && calls_for_audit(notification)) audits_.want(unit, now);
  if (took == records::NotificationLog::Took::counted) return;
  report::Json event{{"event", "notification"}};
  if (wishes_.json) event["notification"] = report::notification_json(*unit.model, notification);
  show(unit.name, words.line, event);
}

/// After the datagrams of one turn. An exception of the disk ends the command, with nothing acknowledged.
void Listener::turn() {
  log_.flush();
  for (const Answer& answer : std::exchange(answers_, {})) {
    if (answer.port != nullptr) {
      answer.port->send(answer.way, answer.octets);
    } else {
      tls_.send(answer.connection, answer.octets);
    }
  }
}

void Listener::show(const std::string& unit, const std::string& what, const report::Json& event) {
  const std::string at = records::stamp(live_.clock.now());
  if (!wishes_.json) return print(report::event_text(screen_, at, unit, what));
  report::Json document = report::document("listen");
  document.update(event);
  document["at"] = at;
  document["unit"] = unit;
  document["what"] = what;
  print(report::dump_line(document));
}

void Listener::audited(const change::Audited& unit) {
  const std::size_t count = unit.comparison.differences.size();
  std::string what = fmt::format("audit: {}", change::verdict_name(unit.verdict));
  if (!unit.what.empty()) what += ": " + unit.what;
  if (count > 0) what += ", " + report::counted(count, "difference");
  show(unit.unit->name, what,
       {{"event", "audit"}, {"verdict", change::verdict_name(unit.verdict)}, {"differences", count}});
}

void Listener::kept(const std::string& record, std::size_t units) {
  if (!wishes_.json) return;
  report::Json event = report::document("listen");
  event["event"] = "kept";
  event["record"] = record;
  event["units"] = units;
  print(report::dump_line(event));
}

bool Listener::over() const {
  if (live_.network.interrupted()) return true;
  return wishes_.seconds.count() > 0 && live_.network.now() - began_ >= wishes_.seconds;
}

void Listener::learn(std::size_t sender, const records::Engines& engines, const records::KnownUnits& known,
                     Time now) {
  const fleet::Unit& unit = *ready_.units[sender];
  tls_.expect(sender, known.expected_certificate(unit.name));
  snmp::Engine engine;
  engine.id = engine_of(unit, known, engines);
  const auto cached = engines.find(unit.name);
  if (cached && cached->id == engine.id) {
    const std::int64_t up = live_.clock.now() / 1000 - cached->started;
    engine.boots = cached->boots;
    engine.time = static_cast<std::uint32_t>(std::clamp<std::int64_t>(up, 0, 2147483647));
  }
  receiver_.learn(sender, engine, now);
}

/// An audit in another process may have met a unit since, or its clock, which goes wrong by itself over
/// months.
void Listener::ask_records(Time now) {
  if (asked_for_.empty()) return;
  const auto engines = records::Engines::read(live_.disk);
  const auto known = records::KnownUnits::read(live_.disk);
  for (const std::size_t sender : std::exchange(asked_for_, {})) learn(sender, engines, known, now);
}

/// So that what was recorded today cannot be sent to us once more after we have started anew.
void Listener::remember_clocks(Time now) {
  for (const std::size_t sender : std::exchange(heard_of_, {})) {
    const auto engine = receiver_.engine_of(sender, now);
    if (!engine) continue;
    live_.engines.note(ready_.units[sender]->name,
                       {engine->id, engine->boots, live_.clock.now() / 1000 - engine->time});
  }
  live_.engines.keep(live_.disk);
}

snmp::Task<void> Listener::watch() {
  Time records_at = began_;
  Time counts_at = began_;
  std::string last_told;
  while (!over()) {
    co_await live_.network.sleep(a_while);
    const Time now = live_.network.now();
    tls_.tend();
    log_.close_minutes(now, false, [this](const std::string& unit, const std::string& what) {
      show(unit, what, {{"event", "more"}});
    });
    log_.flush();
    if (now - records_at >= records_at_most_every) {
      records_at = now;
      remember_clocks(now);
      ask_records(now);
    }
    if (now - counts_at < counts_every) continue;
    counts_at = now;
    std::string line = report::heard_line(heard());
    if (line != last_told) tell_counts();
    last_told = std::move(line);
  }
  ended_ = true;
}

void Listener::tell_counts() {
  if (!wishes_.json) return print_aside("so far: " + report::heard_line(heard()) + "\n");
  report::Json event = report::document("listen");
  event["event"] = "counts";
  event["counts"] = report::heard_json(heard());
  print(report::dump_line(event));
}

void Listener::run() {
  const std::size_t auditors = wishes_.audit ? ListenAudits::at_once : 0;
  live_.network.run_each(
      1 + auditors, [this](std::size_t i) { return i == 0 ? watch() : audits_.work(ended_); }, 1 + auditors);
  log_.close_minutes(live_.network.now(), true, [this](const std::string& unit, const std::string& what) {
    show(unit, what, {{"event", "more"}});
  });
  audits_.keep();
  turn();
  remember_clocks(live_.network.now());
}

report::Heard Listener::heard() const {
  report::Heard heard = counts_;
  heard.seconds = static_cast<double>((live_.network.now() - began_).count()) / 1000;
  heard.datagrams = receiver_.received();
  heard.discoveries = receiver_.discoveries();
  heard.audits = audits_.done();
  heard.connections = tls_.connections();
  heard.lost = tls_.lost();
  for (const auto& port : ports_) heard.lost += port->lost();
  for (std::size_t i = 0; i < snmp::dropped_kinds; ++i) {
    const auto reason = static_cast<snmp::Dropped>(i);
    heard.dropped.emplace_back(snmp::dropped_name(reason), receiver_.dropped(reason));
  }
  return heard;
}

void Listener::summary() {
  if (!wishes_.json) return print("\n" + report::heard_text(screen_, heard()));
  report::Json event = report::document("listen");
  event["event"] = "ended";
  event["counts"] = report::heard_json(heard());
  print(report::dump_line(event));
}

}  // namespace vergeset::cli
