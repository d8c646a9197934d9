// Writes down which requests vergeset sends to a unit, so that the floor can send the very same: runs the
// code of an audit, or of an apply, on one unit over the real network, with a decorator around each link that
// notes what goes through it. The form of the notes is told in floor.c.

#include <fmt/format.h>

#include <cstdio>
#include <fstream>
#include <stdexcept>
#include <string>

#include "change/apply.h"
#include "change/audit.h"
#include "fleet/secret_source.h"
#include "snmp/principals.h"
#include "snmp/udp_network.h"

namespace {

using namespace vergeset;

std::string value_text(const smi::Value& value) {
  switch (value.type) {
    case smi::Type::octet_string:
    case smi::Type::opaque:
    case smi::Type::ip_address:
      return "x" + smi::to_hex(value.octets);
    default:
      return std::to_string(value.number);
  }
}

class Notes {
 public:
  explicit Notes(const std::string& path) : file_(path) {}
  void line(const std::string& text) { file_ << text << '\n'; }
  void line(std::string text, const std::vector<smi::Oid>& oids) {
    for (const smi::Oid& oid : oids) text += " " + oid.str();
    line(text);
  }
  bool written() { return static_cast<bool>(file_.flush()); }

 private:
  std::ofstream file_;
};

class RecordingLink : public snmp::Link {
 public:
  RecordingLink(std::unique_ptr<snmp::Link> link, Notes& notes) : link_(std::move(link)), notes_(notes) {}

  snmp::Task<snmp::Answer> get(std::vector<smi::Oid> oids) override {
    notes_.line("GET", oids);
    return link_->get(std::move(oids));
  }
  snmp::Task<snmp::Answer> get_next(std::vector<smi::Oid> oids) override {
    throw std::logic_error("the floor sends no GETNEXT, and vergeset asked for " + oids.front().str());
  }
  using Link::get_bulk;
  snmp::Task<snmp::Answer> get_bulk(std::vector<smi::Oid> once, std::vector<smi::Oid> repeated,
                                    int repetitions) override {
    std::vector<smi::Oid> all = once;
    all.insert(all.end(), repeated.begin(), repeated.end());
    notes_.line(fmt::format("BULK {} {}", once.size(), repetitions), all);
    return link_->get_bulk(std::move(once), std::move(repeated), repetitions);
  }
  snmp::Task<snmp::Answer> set(std::vector<snmp::VarBind> varbinds) override {
    std::string text = "SET";
    for (const snmp::VarBind& one : varbinds) {
      text +=
          fmt::format(" {} {} {}", one.oid.str(), static_cast<int>(one.value.type), value_text(one.value));
    }
    notes_.line(text);
    return link_->set(std::move(varbinds));
  }
  snmp::Engine engine() const override { return link_->engine(); }
  snmp::Traffic traffic() const override { return link_->traffic(); }

 private:
  std::unique_ptr<snmp::Link> link_;
  Notes& notes_;
};

class RecordingNetwork : public snmp::Network {
 public:
  explicit RecordingNetwork(Notes& notes) : notes_(notes) {}

  snmp::Task<snmp::Opened> open(snmp::Endpoint endpoint,
                                std::shared_ptr<const snmp::Principal> principal) override {
    notes_.line("OPEN");
    snmp::Opened opened = co_await network_.open(std::move(endpoint), std::move(principal));
    if (opened.link) opened.link = std::make_unique<RecordingLink>(std::move(opened.link), notes_);
    co_return opened;
  }
  snmp::Task<void> sleep(std::chrono::milliseconds duration) override { return network_.sleep(duration); }
  std::chrono::milliseconds now() const override { return network_.now(); }
  void run_each(std::size_t count, const std::function<snmp::Task<void>(std::size_t)>& begin,
                std::size_t at_once) override {
    network_.run_each(count, begin, at_once);
  }

 private:
  snmp::UdpNetwork network_;
  Notes& notes_;
};

int fail(const std::string& text) {
  fmt::print(stderr, "record_requests: {}\n", text);
  return 1;
}

snmp::PrincipalOr principal_of(const fleet::Fleet& fleet, const fleet::Credential& credential) {
  auto auth = fleet::read_secret(credential.auth_secret, fleet.folder);
  if (!auth) return Problem{auth.problem()};
  auto privacy = fleet::read_secret(credential.privacy_secret, fleet.folder);
  if (!privacy) return Problem{privacy.problem()};
  return snmp::usm_principal(credential.user, credential.auth, *auth, credential.privacy, *privacy);
}

std::string audit(const change::World& world, const fleet::Unit& unit) {
  const auto audited = change::audit(world, {&unit}, "audit", 1);
  const change::Audited& one = audited.front();
  return one.verdict == change::Verdict::agrees ? std::string()
                                                : std::string(verdict_name(one.verdict)) + " " + one.what;
}

std::string apply(const change::World& world, const fleet::Unit& unit) {
  const std::vector<change::UnitGoal> goals{{&unit, change::goal_of_files(world.fleet, unit)}};
  const auto previews = change::preview(world, goals, false, 1, "apply");
  change::ApplyOptions options;
  options.kind = "apply";
  options.who = "bench";
  const change::ChangeResult result = change::apply(world, goals, previews, options);
  const change::UnitResult& one = result.units.front();
  return one.outcome == change::Outcome::settled ? std::string()
                                                 : std::string(outcome_name(one.outcome)) + " " + one.what;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 5) {
    fmt::print(stderr,
               "usage: record_requests audit|apply FLEET RECORDS FILE (the first unit of the fleet)\n");
    return 2;
  }
  const std::string what = argv[1];
  Faults faults;
  const fleet::Fleet fleet = fleet::load_fleet(argv[2], SOURCE_DIR "/schemas", faults);
  if (faults.any() || fleet.units.empty())
    return fail("the fleet has faults, or no unit: see vergeset check");
  const fleet::Unit& unit = fleet.units.front();
  const auto principal = principal_of(fleet, fleet.credentials.at(unit.credential));
  if (!principal) return fail(principal.problem());

  Notes notes(argv[4]);
  records::FolderDisk disk(argv[3]);
  const records::SystemClock clock;
  RecordingNetwork network(notes);
  const change::World world{network, disk, clock, fleet, [&](const fleet::Unit&) { return *principal; }};
  const std::string wrong = what == "apply" ? apply(world, unit) : audit(world, unit);
  if (!wrong.empty()) return fail(unit.name + ": " + wrong);
  return notes.written() ? 0 : fail("the requests cannot be written");
}
