#include "change/reach.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

#include "change/identify.h"
#include "change/logged_link.h"
#include "change/may_write.h"
#include "change/reach_way.h"
#include "change/serial_no.h"
#include "change/survey.h"
#include "fleet/secret_source.h"
#include "records/unit_log.h"
#include "snmp/engine_id.h"

namespace vergeset::change {

namespace {

using snmp::Failure;
using State = Hold::State;

/// snmpEngineBoots at its end: RFC 3414 2.2.2 and 3.2 7 a let no message in any more.
constexpr std::uint32_t last_boot = 2147483647;

std::string time_text(std::uint32_t seconds) {
  if (seconds < 60) return fmt::format("{} s", seconds);
  if (seconds < 3600) return fmt::format("{} min", seconds / 60);
  if (seconds < 86400) return fmt::format("{} h {} min", seconds / 3600, seconds / 60 % 60);
  return fmt::format("{} d {} h", seconds / 86400, seconds / 3600 % 24);
}

std::string engine_text(const snmp::Engine& engine) {
  std::string text = smi::to_hex(engine.id);
  if (const auto id = snmp::read_engine_id(engine.id)) {
    text += fmt::format(", vendor {}", id->enterprise);
    if (id->kind == "text" || id->kind.find("address") != std::string::npos) {
      text += fmt::format(", {} {}", id->kind, id->content);
    }
  }
  return fmt::format("{}; boots {}, up {}", text, engine.boots, time_text(engine.time));
}

/// One unit's climb. Each function is a rung or some that one answer tells of, and returns whether it goes
/// on.
class Climbing {
 public:
  Climbing(const World& world, snmp::Approach& approach, const ReachOptions& options, Climbed& out)
      : world_(world),
        approach_(approach),
        options_(options),
        out_(out),
        unit_(*out.unit),
        log_(world.disk, world.clock, out.unit->name, "reach") {}

  snmp::Task<void> run() {
    const bool there = co_await arrive();
    if (there) co_await speak();
    const Hold& last = out_.holds.back();
    log_.line(fmt::format("ends at {}: {}", out_.at_top() ? "the top" : rung_name(last.rung), last.what));
    log_.flush();
  }

 private:
  bool add(Hold hold) {
    const bool goes_on = hold.state != State::ends;
    out_.holds.push_back(std::move(hold));
    return goes_on;
  }
  bool holds(Rung rung, std::string what) { return add({rung, State::holds, std::move(what), {}}); }
  bool ends(Rung rung, std::string what, std::string next) {
    return add({rung, State::ends, std::move(what), std::move(next)});
  }

  const fleet::Credential* credential() const {
    const auto found = world_.fleet.credentials.find(unit_.credential);
    return found == world_.fleet.credentials.end() ? nullptr : &found->second;
  }
  std::string user() const {
    const fleet::Credential* const found = credential();
    return found == nullptr ? std::string() : found->user;
  }

  /// The way to it. A ping never ends a climb.
  snmp::Task<bool> arrive() {
    out_.way = approach_.way_to(unit_.host);
    const bool has_way = add(address_hold(world_.fleet, unit_, out_.way));
    if (!has_way) co_return false;
    out_.echo = co_await approach_.ping(unit_.host, std::chrono::milliseconds(world_.fleet.timeout_ms));
    add(ping_hold(out_.way, *out_.echo));
    co_return true;
  }

  snmp::Task<void> speak() {
    const fleet::Credential* const found = credential();
    if (found == nullptr || found->kind == fleet::Credential::Kind::user) {
      snmp::Discovered discovered = co_await discover(world_.fleet.retries);
      const bool open = add(port_hold(world_.fleet, out_, discovered.error));
      const bool known = open && engine(std::move(discovered)) && has_secrets();
      if (known) co_await as_user();
    } else if (has_secrets()) {
      co_await without_engine(*found);
    }
  }

  /// RFC 3414 4, for which no credential is needed.
  snmp::Task<snmp::Discovered> discover(int retries) {
    snmp::Endpoint endpoint = address_of_unit();
    endpoint.retries = retries;
    snmp::Discovered discovered = co_await approach_.discover(std::move(endpoint));
    co_return discovered;
  }
  snmp::Endpoint address_of_unit() const {
    snmp::Endpoint endpoint;
    endpoint.host = unit_.host;
    endpoint.port = unit_.port;
    endpoint.timeout_ms = world_.fleet.timeout_ms;
    endpoint.retries = world_.fleet.retries;
    return endpoint;
  }

  bool engine(snmp::Discovered discovered) {
    if (discovered.error) {
      return ends(Rung::engine, discovered.error->text,
                  "switch SNMPv3 on at the unit; something else may answer on this port");
    }
    out_.engine = std::move(discovered.engine);
    const std::string id = smi::to_hex(out_.engine.id);
    if (!unit_.engine_id.empty() && unit_.engine_id != id) {
      return ends(Rung::engine,
                  fmt::format("its engine id is {}, the inventory says {}", id, unit_.engine_id),
                  "another unit is at this address, or this one was replaced: then correct engine-id in " +
                      unit_.place.str());
    }
    const std::string stranger = is_stranger();
    if (!stranger.empty()) {
      return ends(Rung::engine, stranger, "see which unit is at this address; no key was used with it");
    }
    return holds(Rung::engine, engine_text(out_.engine));
  }

  /// Another engine than the one that is known since first contact: empty where it is not.
  std::string is_stranger() const {
    const auto expected = expected_engine(world_, unit_);
    if (!expected || *expected == out_.engine.id) return {};
    snmp::Error error;
    error.failure = Failure::wrong_engine;
    error.engine = out_.engine.id;
    return stranger_text(world_, unit_, error);
  }

  bool has_secrets() {
    const bool known = world_.principal_of(unit_) != nullptr;
    const std::string why = known || !options_.no_keys ? std::string() : options_.no_keys(unit_);
    return why.empty() ||
           ends(Rung::user, why, "provide the secret, and climb again; nothing was sent as any user");
  }

  snmp::Task<void> as_user() {
    // To the engine that has just said who it is, so that it is discovered once.
    snmp::Endpoint endpoint = address_of_unit();
    endpoint.engine = out_.engine;
    endpoint.only_engine = out_.engine.id;
    std::shared_ptr<const snmp::Principal> principal = world_.principal_of(unit_);
    snmp::Opened opened = co_await world_.network.open(std::move(endpoint), std::move(principal));
    if (!opened) {
      ends(Rung::user, opened.error.text, "see to credential " + unit_.credential + " in fleet.yaml");
      co_return;
    }
    LoggedLink link(std::move(opened.link), log_, *unit_.model);
    Surveyed surveyed = co_await read(link, wanted());
    if (let_in(surveyed.error, link.engine())) co_await climb_on(link, std::move(surveyed));
  }

  /// A community, or a certificate: the first answer tells of the port and of the credential at once.
  snmp::Task<void> without_engine(const fleet::Credential& found) {
    snmp::Opened opened = co_await open_link(world_, unit_);
    if (!opened) {
      certificate_refused(found, opened.error);
      co_return;
    }
    LoggedLink link(std::move(opened.link), log_, *unit_.model);
    Surveyed surveyed = co_await read(link, wanted());
    if (surveyed.error && !answered(*surveyed.error)) {
      co_await unanswered(found, *surveyed.error);
      co_return;
    }
    add(port_hold(world_.fleet, out_, std::nullopt));
    if (found.kind == fleet::Credential::Kind::certificate) {
      holds(Rung::authentication, "the unit's certificate is one that the fleet trusts");
      holds(Rung::user, fmt::format("the unit knows the certificate of credential {}", found.name));
    } else {
      holds(Rung::user, fmt::format("the unit answers the community of credential {}", found.name));
    }
    co_await climb_on(link, std::move(surveyed));
  }

  /// Where a handshake ended: at the port, at the unit's certificate, or at ours (RFC 6353 5.3).
  void certificate_refused(const fleet::Credential& found, const snmp::Error& error) {
    const std::string stranger = stranger_text(world_, unit_, error);
    const bool theirs = error.failure == Failure::wrong_certificate || !stranger.empty();
    const bool ours = error.failure == Failure::unknown_certificate;
    if (!theirs && !ours && error.failure != Failure::expired_certificate) {
      add(port_hold(world_.fleet, out_, error));
      return;
    }
    add(port_hold(world_.fleet, out_, std::nullopt));
    if (ours) {
      holds(Rung::authentication, "the unit's certificate is one that the fleet trusts");
      ends(Rung::user, error.text,
           "give the unit our certificate, and map it to a user there: " + found.certificate.file);
    } else if (!stranger.empty()) {
      const bool by_certificate = error.failure == Failure::other_certificate;
      ends(by_certificate ? Rung::authentication : Rung::engine, stranger,
           "see which unit is at this address; nothing was asked of it but who it is");
    } else if (theirs) {
      ends(Rung::authentication, error.text,
           fmt::format("see which unit is at this address; correct trust or fingerprint of credential {}, or "
                       "of {}",
                       found.name, unit_.place.str()));
    } else {
      ends(Rung::authentication, error.text,
           "have the certificate made anew, or set the clock that is wrong");
    }
  }

  /// A wrong community is met with silence (RFC 1157 4.1), which an answer to nobody tells from a dead unit.
  snmp::Task<void> unanswered(const fleet::Credential& found, snmp::Error error) {
    if (found.kind == fleet::Credential::Kind::community && error.failure == Failure::no_answer) {
      const snmp::Discovered discovered = co_await discover(0);
      if (!discovered.error) {
        add(port_hold(world_.fleet, out_, std::nullopt));
        ends(Rung::user,
             fmt::format(
                 "the unit answers SNMPv3, and is silent to the community of credential {}, as to any that "
                 "is wrong",
                 found.name),
             fmt::format("compare the community ({}) with the unit's, and see whether SNMPv{} is on there",
                         fleet::source_text(found.community), found.version));
        co_return;
      }
    }
    add(port_hold(world_.fleet, out_, std::move(error)));
  }

  /// From reading to the top.
  snmp::Task<void> climb_on(snmp::Link& link, Surveyed surveyed) {
    remember_engine(world_, unit_, link);
    const bool reads = reading(surveyed);
    if (!reads) co_return;
    const bool writes = co_await writing(link, surveyed.found);
    if (!writes) co_return;
    surveyed.found.engine_id = link.engine().id;
    if (!model(surveyed.found)) co_return;
    if (right_unit(surveyed.found)) know(world_, unit_, link, log_);
  }

  /// The agent has dealt with the request, whatever came of it.
  static bool answered(const snmp::Error& error) {
    return error.status != 0 || error.failure == Failure::no_access || error.failure == Failure::too_big;
  }

  std::vector<smi::Oid> wanted() const {
    std::vector<smi::Oid> instances{uptime(), SerialNo::instance()};
    for (smi::Oid& oid : identity_instances(world_.fleet, unit_)) instances.push_back(std::move(oid));
    for (const schema::Object* object : may_be_asked(unit_)) {
      const smi::Oid instance = object->oid.child(0);
      if (std::find(instances.begin(), instances.end(), instance) == instances.end()) {
        instances.push_back(instance);
      }
    }
    return instances;
  }
  static const smi::Oid& uptime() {
    static const smi::Oid oid{1, 3, 6, 1, 2, 1, 1, 3, 0};
    return oid;
  }

  std::string protocol(std::string fleet::Credential::*which) const {
    const fleet::Credential* const found = credential();
    return found == nullptr ? "its protocol" : found->*which;
  }

  /// User, authentication, clock and privacy, of which the answer to the first reading tells. What the
  /// credential does without has no rung.
  bool let_in(const std::optional<snmp::Error>& error, const snmp::Engine& engine) {
    const Failure failure = !error || answered(*error) ? Failure::error_status : error->failure;
    if (failure == Failure::unknown_user) return unknown_user();
    if (failure == Failure::no_answer || failure == Failure::bad_answer || failure == Failure::unreachable ||
        failure == Failure::local) {
      return ends(Rung::user, error->text, "it was discovered, and answers nothing to this user; try again");
    }
    holds(Rung::user, fmt::format("the unit knows user {} (credential {})", user(), unit_.credential));
    if (failure == Failure::bad_level) return bad_level();
    if (failure == Failure::wrong_auth) return wrong_secret(Rung::authentication);
    const std::string auth = protocol(&fleet::Credential::auth);
    const std::string privacy = protocol(&fleet::Credential::privacy);
    if (auth != "none") {
      holds(Rung::authentication, auth + " and its secret are right");
      if (failure == Failure::clock_window) return clock_refused();
      holds(Rung::clock, fmt::format("within the unit's time window: boots {}, up {}", engine.boots,
                                     time_text(engine.time)));
    }
    if (failure == Failure::wrong_privacy) return wrong_secret(Rung::privacy);
    if (privacy != "none") holds(Rung::privacy, privacy + " and its secret are right");
    return true;
  }

  bool unknown_user() {
    return ends(Rung::user, fmt::format("the unit does not know user {} (usmStatsUnknownUserNames)", user()),
                fmt::format("make this user on the unit, or name the unit's own credential in {}; new units "
                            "have their factory's user",
                            unit_.place.str()));
  }
  bool wrong_secret(Rung rung) {
    const bool auth = rung == Rung::authentication;
    const std::string name = protocol(auth ? &fleet::Credential::auth : &fleet::Credential::privacy);
    const fleet::Credential* const found = credential();
    const fleet::SecretSource source = found == nullptr ? fleet::SecretSource()
                                       : auth           ? found->auth_secret
                                                        : found->privacy_secret;
    return ends(rung,
                auth
                    ? fmt::format("the unit knows user {} with another secret, or not with {} "
                                  "(usmStatsWrongDigests)",
                                  user(), name)
                    : fmt::format("the unit has another privacy secret for user {}, or not {}: it answers in "
                                  "the clear only",
                                  user(), name),
                fmt::format("compare the secret ({}) and the protocol ({}) with what the unit was given",
                            fleet::source_text(source), name));
  }
  bool bad_level() {
    return ends(
        Rung::authentication,
        fmt::format("the unit gives user {} no authentication or no privacy, which the credential asks "
                    "for (usmStatsUnsupportedSecLevels)",
                    user()),
        "make the user on the unit with the keys that the credential has");
  }
  bool clock_refused() {
    if (out_.engine.boots >= last_boot) {
      return ends(Rung::clock,
                  fmt::format("the unit's count of boots has come to its end, {}: it lets nobody in any more "
                              "(RFC 3414 2.2.2)",
                              last_boot),
                  "give it a new engine id, or set it back to factory state; then make its users anew");
    }
    return ends(Rung::clock, "the unit refuses its own clock again and again (usmStatsNotInTimeWindows)",
                "start the unit anew; where that does not help its SNMP agent is at fault: ask its maker");
  }

  bool reading(const Surveyed& surveyed) {
    if (surveyed.error && surveyed.error->failure == Failure::no_access) {
      return ends(Rung::reading,
                  fmt::format("the unit lets user {} in, and read nothing ({})", user(),
                              snmp::status_name(surveyed.error->status)),
                  "put the user into a group with a read view there (RFC 3415)");
    }
    if (surveyed.error) return ends(Rung::reading, surveyed.error->text, "ask the unit's maker");
    std::size_t there = 0;
    for (const auto& [oid, value] : surveyed.found.instances) there += value.absent() ? 0 : 1;
    if (there == 0) {
      return ends(
          Rung::reading,
          fmt::format("the unit lets user {} in, and shows nothing of what was asked for (noSuchObject)",
                      user()),
          "widen the read view of the user's group there (RFC 3415)");
    }
    return holds(Rung::reading, fmt::format("{} of {} objects that were asked for are there", there,
                                            surveyed.found.instances.size()));
  }

  snmp::Task<bool> writing(snmp::Link& link, const AsFound& found) {
    MayWrite asked = co_await may_write(link, unit_, found);
    if (asked.verdict == MayWrite::Verdict::no) {
      co_return ends(Rung::writing, fmt::format("user {} may not write: {}", user(), asked.what),
                     "widen the write view of the user's group there (RFC 3415); audits need none");
    }
    if (asked.verdict == MayWrite::Verdict::unanswered) {
      co_return ends(Rung::writing, asked.what,
                     "climb again; where it stays so, something on the way drops SETs");
    }
    if (asked.verdict == MayWrite::Verdict::unknown) {
      co_return add({Rung::writing, State::passed, "cannot be told without writing: " + asked.what, {}});
    }
    co_return holds(Rung::writing, asked.what + " (nothing was)");
  }

  bool model(const AsFound& found) {
    const schema::Model& model = *unit_.model;
    if (const auto wrong = wrong_model(world_.fleet, unit_, found)) {
      const bool other = wrong->rfind("it is ", 0) == 0;
      return ends(
          Rung::model, *wrong,
          other ? "correct model in " + unit_.place.str() + ", or the address: it may be another unit's"
                : fmt::format("correct model in {}; or, if it is right, let the user's read view have {}",
                              unit_.place.str(), model.root.str()));
    }
    const schema::Object* const present = model.identity.present;
    return holds(Rung::model, present == nullptr ? model.title + ", which has no rule to tell it by"
                                                 : fmt::format("{}, by its {}", model.title, present->name));
  }

  bool right_unit(const AsFound& found) {
    if (const auto wrong = wrong_unit(world_.fleet, unit_, found)) {
      return ends(Rung::unit, *wrong,
                  "see which unit is at this address; the inventory's is in " + unit_.place.str());
    }
    std::string by = unit_.engine_id.empty() ? "" : "engine id";
    const schema::Object* const id = unit_.model->identity.unit_id;
    if (id != nullptr) {
      const smi::Value& value = found.at(id->oid.child(0));
      if (!value.absent() && !value.octets.empty()) {
        by += fmt::format("{}{} {}", by.empty() ? "" : ", ", id->name, smi::to_text(id->syntax, value));
      }
    }
    return holds(Rung::unit, "nothing speaks against " + unit_.name + (by.empty() ? "" : ": " + by));
  }

  const World& world_;
  snmp::Approach& approach_;
  const ReachOptions& options_;
  Climbed& out_;
  const fleet::Unit& unit_;
  records::UnitLog log_;
};

snmp::Task<void> climb(const World& world, snmp::Approach& approach, const ReachOptions& options,
                       Climbed& out) {
  if (world.progress != nullptr) world.progress->begins();
  Climbing climbing(world, approach, options, out);
  co_await climbing.run();
  if (world.progress != nullptr) world.progress->ends(!out.at_top());
}

}  // namespace

std::string_view rung_name(Rung rung) {
  constexpr std::array<std::string_view, 12> names{"address", "ping",           "SNMP port", "engine",
                                                   "user",    "authentication", "clock",     "privacy",
                                                   "reading", "writing",        "model",     "unit"};
  return names[static_cast<std::size_t>(rung)];
}

std::string_view state_name(Hold::State state) {
  switch (state) {
    case State::passed:
      return "passed over";
    case State::ends:
      return "ends here";
    case State::holds:
      break;
  }
  return "holds";
}

bool Climbed::unanswered() const {
  return !at_top() && (holds.empty() || holds.back().rung <= Rung::port);
}

std::vector<Climbed> reach(const World& world, snmp::Approach& approach,
                           const std::vector<const fleet::Unit*>& units, const ReachOptions& options) {
  std::vector<Climbed> all(units.size());
  const auto begin = [&](std::size_t i) {
    all[i].unit = units[i];
    return climb(world, approach, options, all[i]);
  };
  world.network.run_each(units.size(), begin, options.at_once);
  return all;
}

}  // namespace vergeset::change
