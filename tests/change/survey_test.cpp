#include "change/survey.h"

#include <filesystem>
#include <fstream>
#include <set>

#include "change/identify.h"
#include "change/message_size.h"
#include "checks/health.h"

#include "catch.h"
#include "district.h"

namespace {

using namespace vergeset;
using change::Surveyed;
using test::District;
using test::two_units;

/// A unit that answers every GETBULK in the same way, however it is asked.
class BadWalker : public snmp::Link {
 public:
  BadWalker(test::SimNetwork& network, bool goes_on) : network_(network), goes_on_(goes_on) {}

  snmp::Task<snmp::Answer> get(std::vector<smi::Oid> oids) override {
    std::vector<snmp::VarBind> out;
    for (const smi::Oid& oid : oids) out.push_back({oid, smi::Value::integer(1)});
    co_return out;
  }
  snmp::Task<snmp::Answer> get_next(std::vector<smi::Oid> oids) override {
    return get_bulk(std::vector<smi::Oid>(), std::move(oids), 1);
  }
  using Link::get_bulk;
  snmp::Task<snmp::Answer> get_bulk(std::vector<smi::Oid> once, std::vector<smi::Oid> oids,
                                    int repetitions) override {
    ++asked;
    co_await network_.sleep(2 * network_.one_way);
    std::vector<smi::Oid> columns;
    for (const smi::Oid& oid : oids) {
      const bool walked = columns_.contains(oid.parent());
      columns.push_back(walked ? oid.parent() : oid);
      columns_.insert(columns.back());
    }
    std::vector<snmp::VarBind> out;
    for (const smi::Oid& oid : once) out.push_back({oid.child(0), smi::Value::integer(1)});
    for (int i = 0; i < repetitions; ++i) {
      ++row_;
      for (std::size_t column = 0; column < oids.size(); ++column) {
        const smi::Oid answer = goes_on_ ? columns[column].child(row_) : oids[column];
        out.push_back({answer, smi::Value::integer(1)});
      }
    }
    co_return out;
  }
  snmp::Task<snmp::Answer> set(std::vector<snmp::VarBind> varbinds) override { co_return varbinds; }
  snmp::Engine engine() const override { return engine_; }
  snmp::Traffic traffic() const override { return {}; }

  int asked = 0;

 private:
  test::SimNetwork& network_;
  bool goes_on_;
  std::uint32_t row_ = 0;
  std::set<smi::Oid> columns_;  ///< as asked at first
  snmp::Engine engine_;
};

snmp::Task<void> survey_into(snmp::Link& link, const change::Wanted& wanted, Surveyed& out) {
  out = co_await change::survey(link, wanted);
}

TEST_CASE("a walk that does not get on, or never ends, ends with an error that says so") {
  District district(two_units());
  const change::Wanted wanted = change::wanted_of(district.fleet, district.unit("LK-101"));
  for (const bool goes_on : {false, true}) {
    BadWalker link(district.network, goes_on);
    Surveyed surveyed;
    std::vector<snmp::Task<void>> tasks;
    tasks.push_back(survey_into(link, wanted, surveyed));
    district.network.run(std::move(tasks), 1);
    REQUIRE(surveyed.error);
    CHECK(surveyed.error->failure == snmp::Failure::bad_answer);
    CHECK_THAT(surveyed.error->text, Catch::Contains(goes_on ? "more than 255 rows" : "would never end"));
    CHECK(link.asked < 5000);
  }
}

/// A unit that takes small requests only, or fills no message. What is too much it refuses as tooBig, or it
/// is lost on the way.
class TightLink : public snmp::Link {
 public:
  TightLink(std::unique_ptr<snmp::Link> link, std::size_t most_asked, std::size_t most_answered,
            bool loses = false)
      : link_(std::move(link)), most_asked_(most_asked), most_answered_(most_answered), loses_(loses) {}

  snmp::Task<snmp::Answer> get(std::vector<smi::Oid> oids) override {
    if (oids.size() > most_asked_) co_return too_much();
    snmp::Answer answer = co_await link_->get(std::move(oids));
    co_return answer;
  }
  snmp::Task<snmp::Answer> get_next(std::vector<smi::Oid> oids) override {
    return get_bulk(std::vector<smi::Oid>(), std::move(oids), 1);
  }
  using Link::get_bulk;
  snmp::Task<snmp::Answer> get_bulk(std::vector<smi::Oid> once, std::vector<smi::Oid> repeated,
                                    int repetitions) override {
    if (static_cast<std::size_t>(repetitions) > most_asked_ || once.size() > most_asked_)
      co_return too_much();
    snmp::Answer answer = co_await link_->get_bulk(std::move(once), std::move(repeated), repetitions);
    std::vector<snmp::VarBind> some = answer.take();
    if (some.size() > most_answered_) some.resize(most_answered_);
    co_return some;
  }
  snmp::Task<snmp::Answer> set(std::vector<snmp::VarBind> varbinds) override {
    return link_->set(std::move(varbinds));
  }
  snmp::Task<bool> answers_little() override { co_return true; }
  snmp::Engine engine() const override { return link_->engine(); }
  snmp::Traffic traffic() const override { return link_->traffic(); }

 private:
  snmp::Error too_much() const {
    return {loses_ ? snmp::Failure::no_answer : snmp::Failure::too_big, 0, 0, "too much"};
  }

  std::unique_ptr<snmp::Link> link_;
  std::size_t most_asked_;
  std::size_t most_answered_;
  bool loses_;
};

/// A unit of which the files ask for twenty messages of 300 octets, and that has them.
class Busy {
 public:
  Busy() : district(files()) { REQUIRE(district.apply().units[0].outcome == change::Outcome::settled); }

  static std::map<std::string, std::string> files() {
    std::map<std::string, std::string> all = two_units();
    all["units.yaml"] =
        "units:\n  LK-101: {address: 127.77.0.1, port: 16161, model: ntcip1218-v01, groups: [busy]}\n";
    std::string rows;
    for (int i = 0; i < 20; ++i) {
      rows += fmt::format(R"(
      notice-{}:
        match: [psid, message]
        psid: {}
        message: TIM
        channel: 183
        interval: 1000 ms
        start: 2026-01-01T00:00Z
        stop: 2036-01-01T00:00Z
        payload: {{file: payloads/{}.hex}}
        enabled: on
)",
                          i, 1000 + i, i);
      std::string octets = "001f";
      for (int octet = 2; octet < 300; ++octet) octets += fmt::format("{:02x}", (octet * 7 + i) % 256);
      all[fmt::format("payloads/{}.hex", i)] = octets;
    }
    all["groups/busy.yaml"] = "tables:\n  store-and-repeat:\n    rows:" + rows;
    return all;
  }

  std::unique_ptr<snmp::Link> open() {
    std::unique_ptr<snmp::Link> link;
    run([&]() -> snmp::Task<void> {
      snmp::Opened opened = co_await change::open_link(district.world, unit());
      link = std::move(opened.link);
    });
    return link;
  }
  Surveyed survey(snmp::Link& link) {
    Surveyed out;
    const change::Wanted wanted = change::wanted_of(district.fleet, unit());
    run([&]() -> snmp::Task<void> { out = co_await change::survey(link, wanted); });
    return out;
  }
  const fleet::Unit& unit() const { return district.unit("LK-101"); }

  District district;

 private:
  void run(const std::function<snmp::Task<void>()>& body) {
    std::vector<snmp::Task<void>> tasks;
    tasks.push_back(body());
    district.network.run(std::move(tasks), 1);
  }
};

/// What is there: noSuchObject and noSuchInstance both say that it is not. Without what moves by itself.
std::map<smi::Oid, smi::Value> present(const schema::Model& model, const Surveyed& surveyed) {
  std::map<smi::Oid, smi::Value> out;
  for (const auto& [oid, value] : surveyed.found.instances) {
    const schema::Object* object = model.object_at(oid);
    const bool moves = object != nullptr && sim::moving_of(*object) != sim::Moving::still;
    if (!value.absent() && !moves) out.emplace(oid, value);
  }
  return out;
}

TEST_CASE("a unit with twenty long messages is read in two round trips") {
  Busy busy;
  const auto link = busy.open();
  const auto before = busy.district.network.now();
  REQUIRE(busy.survey(*link));
  CHECK(busy.district.network.now() - before == 2 * 2 * busy.district.network.one_way);
}

TEST_CASE("requests of a survey and their answers fill a message and do not burst it") {
  Busy busy;
  const auto link = busy.open();
  const auto before = link->traffic().requests;
  const Surveyed surveyed = busy.survey(*link);
  REQUIRE(surveyed);
  std::size_t octets = 0;
  for (const auto& [oid, value] : surveyed.found.instances) octets += change::varbind_octets(oid, value);
  const auto requests = link->traffic().requests - before;
  CHECK(requests >= octets / 1400);
  CHECK(requests <= 2 * octets / change::message_octets);
}

TEST_CASE(
    "what a unit finds too big, or the way to it loses, is asked for in parts, and an answer that is cut "
    "short is gone on with") {
  Busy busy;
  const auto open = busy.open();
  const Surveyed whole = busy.survey(*open);
  const schema::Model& model = *busy.unit().model;
  REQUIRE(whole);
  for (const auto& [asked, answered] : {std::pair(1U, 1000U), std::pair(2U, 5U), std::pair(1000U, 1U)}) {
    for (const bool loses : {false, true}) {
      TightLink link(busy.open(), asked, answered, loses);
      const Surveyed surveyed = busy.survey(link);
      REQUIRE(surveyed);
      CHECK(present(model, surveyed) == present(model, whole));
      CHECK(surveyed.found.instances.size() == whole.found.instances.size());
    }
  }
}

/// The files of the district that is in the sources.
std::map<std::string, std::string> larkmoor() {
  const std::filesystem::path folder = SOURCE_DIR "/inventories/larkmoor";
  std::map<std::string, std::string> files;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    if (!entry.is_regular_file()) continue;
    std::ifstream in(entry.path(), std::ios::binary);
    files[std::filesystem::relative(entry.path(), folder).string()] =
        std::string(std::istreambuf_iterator<char>(in), {});
  }
  return files;
}

/// What is wanted of a unit but for its health.
change::Wanted but_for_health(const District& district, const fleet::Unit& unit) {
  change::Wanted wanted = change::wanted_of(district.fleet, unit);
  std::erase_if(wanted.tables, [](const change::Wanted::Columns& columns) { return columns.at_once; });
  std::set<smi::Oid> health;
  for (const schema::Object* object : checks::health_objects(unit)) health.insert(object->oid.child(0));
  for (const fleet::DesiredValue& value : unit.desired.values) health.erase(value.object->oid.child(0));
  for (const smi::Oid& instance : change::identity_instances(district.fleet, unit)) health.erase(instance);
  if (const auto rows = checks::health_rows(unit))
    for (std::uint32_t row = 1; row <= rows->rows; ++row) health.insert(rows->column->oid.child(row));
  change::Wanted lean{{}, {}, std::move(wanted.tables)};
  for (std::size_t i = 0; i < wanted.instances.size(); ++i) {
    if (health.contains(wanted.instances[i])) continue;
    lean.instances.push_back(wanted.instances[i]);
    lean.octets.push_back(wanted.octets[i]);
  }
  return lean;
}

struct Cost {
  std::uint64_t requests = 0;
  std::chrono::milliseconds time{0};
};

snmp::Task<void> cost_into(District& district, const fleet::Unit& unit, change::Wanted wanted, Cost& out) {
  snmp::Opened opened = co_await change::open_link(district.world, unit);
  const auto begun = district.network.now();
  Surveyed surveyed = co_await change::survey(*opened.link, std::move(wanted));
  out.requests = opened.link->traffic().requests;
  out.time = district.network.now() - begun;
}

TEST_CASE("what health wants to know takes no round trip more, and of a unit one message more at most") {
  District district(larkmoor());
  std::map<std::string, Cost> all;
  std::map<std::string, Cost> lean;
  for (const fleet::Unit& unit : district.fleet.units) {
    Cost with;
    Cost without;
    std::vector<snmp::Task<void>> tasks;
    tasks.push_back(cost_into(district, unit, change::wanted_of(district.fleet, unit), with));
    tasks.push_back(cost_into(district, unit, but_for_health(district, unit), without));
    district.network.run(std::move(tasks), 2);
    CAPTURE(unit.name, with.requests, without.requests);
    CHECK(with.requests <= without.requests + 1);
    CHECK(with.time == without.time);
    all[unit.model->name].requests += with.requests;
    lean[unit.model->name].requests += without.requests;
  }
  for (const auto& [model, cost] : all)
    UNSCOPED_INFO(model << ": " << lean[model].requests << " to " << cost.requests);
  CHECK(all.size() == 2);
}

}  // namespace
