#include "change/survey.h"

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
    return get_bulk(std::move(oids), 1);
  }
  snmp::Task<snmp::Answer> get_bulk(std::vector<smi::Oid> oids, int repetitions) override {
    ++asked;
    co_await network_.sleep(2 * network_.one_way);
    if (columns_.empty()) columns_ = oids;
    std::vector<snmp::VarBind> out;
    for (int i = 0; i < repetitions; ++i) {
      ++row_;
      for (std::size_t column = 0; column < oids.size(); ++column) {
        const smi::Oid answer = goes_on_ ? columns_[column].child(row_) : oids[column];
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
  std::vector<smi::Oid> columns_;  ///< as asked at first
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
    CHECK(surveyed.error->text.find("never ends") != std::string::npos);
    CHECK(link.asked < 5000);
  }
}

}  // namespace
