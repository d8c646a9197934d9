#include "change/sequence.h"

#include "change/compare.h"
#include "change/message_size.h"
#include "district.h"

namespace {

using namespace vergeset;
using change::Difference;
using change::Sequence;
using change::Step;

/// A model as small as a test needs: a mode, a scalar on air, one in standby, one that cuts off, a table.
struct Bench {
  schema::Model model;

  Bench() {
    add("mode", {1, 1}, "INTEGER { other(1), standby(2), operate(3) }");
    add("status", {1, 2}, "INTEGER { other(1), standby(2), operate(3), fault(4) }");
    add("text", {1, 3}, "DisplayString (SIZE(0..2000))");
    model.mode = schema::ModeRule{&model.objects.at("mode"), &model.objects.at("status"), 2, 3, 2, 3, 4};
  }

  void add(const std::string& name, smi::Oid oid, const std::string& syntax) {
    schema::Object object;
    object.name = name;
    object.oid = std::move(oid);
    object.syntax = *smi::Syntax::parse(syntax);
    object.access = schema::Access::read_write;
    model.objects.emplace(name, object);
  }

  static change::Item item(const std::string& name, smi::Oid oid, std::size_t octets = 4) {
    change::Item item;
    item.name = name;
    item.setting = name;
    item.oid = std::move(oid);
    item.syntax = *smi::Syntax::parse("DisplayString (SIZE(0..2000))");
    item.desired = smi::Value::of_octets(std::string(octets, 'x'));
    return item;
  }
  static Difference value(const std::string& name, std::uint32_t arc, bool standby = false,
                          bool cuts_off = false) {
    Difference difference;
    difference.name = name;
    difference.items.push_back(item(name, {1, 10, arc, 0}));
    difference.items.back().needs_standby = standby;
    difference.items.back().cuts_off = cuts_off;
    return difference;
  }
  static Difference row(Difference::Kind kind, std::uint32_t index, bool standby = false,
                        schema::RowEdit edit = schema::RowEdit::in_place, std::size_t octets = 4) {
    Difference difference;
    difference.kind = kind;
    difference.name = "table row" + std::to_string(index);
    difference.row = {"table", index, smi::Oid{1, 20, 1, 9, index}, edit, standby};
    if (kind != Difference::Kind::remove_row) {
      difference.items.push_back(item("column", {1, 20, 1, 2, index}, octets));
      difference.items.back().needs_standby = standby;
    }
    return difference;
  }
  Difference mode(std::int64_t desired) const {
    Difference difference;
    difference.name = "mode";
    change::Item item;
    item.name = "mode.0";
    item.oid = {1, 1, 0};
    item.syntax = model.objects.at("mode").syntax;
    item.desired = smi::Value::integer(desired);
    difference.items.push_back(item);
    return difference;
  }
};

constexpr change::ModeFound operating{true, 3, false, true};
constexpr change::ModeFound standing_by{true, 2, true, false};

std::vector<std::string> abouts(const Sequence& sequence) {
  std::vector<std::string> all;
  for (const Step& step : sequence.steps) all.push_back(step.about);
  return all;
}

using Strings = std::vector<std::string>;

TEST_CASE("what may be set on air goes before the standby bracket, what cuts off after it") {
  const Bench bench;
  const Sequence out = change::sequence(
      bench.model,
      {Bench::value("address", 1, false, true), Bench::value("radio", 2, true), Bench::value("label", 3)},
      operating);
  CHECK(abouts(out) == Strings{"label", "go to standby", "radio", "go to operate", "address"});
  CHECK(out.leaves_operate);
  CHECK(out.steps[2].standby);
  CHECK_FALSE(out.steps[0].standby);
  CHECK(out.steps[4].cuts_off);
  CHECK(change::expected_off_air_s(out) > 0);
}

TEST_CASE("scalars share one request, as if set at once (RFC 3416 4.2.5)") {
  const Bench bench;
  const Sequence out = change::sequence(
      bench.model, {Bench::value("a", 1), Bench::value("b", 2), Bench::value("c", 3)}, operating);
  REQUIRE(out.steps.size() == 1);
  CHECK(out.steps[0].assignments.size() == 3);
  CHECK_FALSE(out.leaves_operate);
  CHECK(change::expected_off_air_s(out) == 0);
}

TEST_CASE("a unit that stands by already needs no bracket and is not sent to operate unasked") {
  const Bench bench;
  const Sequence out = change::sequence(bench.model, {Bench::value("radio", 2, true)}, standing_by);
  CHECK(abouts(out) == Strings{"radio"});
  CHECK_FALSE(out.leaves_operate);
}

TEST_CASE("a unit that stands by and is to operate goes to operate once all is set") {
  const Bench bench;
  const Sequence out = change::sequence(
      bench.model, {bench.mode(3), Bench::value("radio", 2, true), Bench::value("a", 1)}, standing_by);
  CHECK(abouts(out) == Strings{"a", "radio", "go to operate"});
}

TEST_CASE("a unit that is to stand by is changed on air first and then goes to standby to stay") {
  const Bench bench;
  const Sequence out = change::sequence(bench.model, {bench.mode(2), Bench::value("a", 1)}, operating);
  CHECK(abouts(out) == Strings{"a", "go to standby"});
  CHECK(out.ends_off_air);
  const Sequence bracket =
      change::sequence(bench.model, {bench.mode(2), Bench::value("radio", 1, true)}, operating);
  CHECK(abouts(bracket) == Strings{"go to standby", "radio"});
}

TEST_CASE("rows are removed before others are changed and made") {
  const Bench bench;
  using Kind = Difference::Kind;
  const Sequence out = change::sequence(
      bench.model,
      {Bench::row(Kind::make_row, 3), Bench::row(Kind::change_row, 2), Bench::row(Kind::remove_row, 1)},
      operating);
  CHECK(abouts(out) ==
        Strings{"remove table row1 (row 1)", "change table row2 (row 2)", "make table row3 (row 3)"});
}

TEST_CASE("a new row is one request with every column and createAndGo (RFC 2579 RowStatus 4)") {
  const Bench bench;
  const Sequence out = change::sequence(bench.model, {Bench::row(Difference::Kind::make_row, 3)}, operating);
  REQUIRE(out.steps.size() == 1);
  REQUIRE(out.steps[0].assignments.size() == 2);
  CHECK(out.steps[0].assignments[1].value == smi::Value::integer(4));
}

TEST_CASE("a row that does not fit a request is made by createAndWait, columns, active (RFC 2579)") {
  const Bench bench;
  const Sequence out = change::sequence(
      bench.model, {Bench::row(Difference::Kind::make_row, 3, false, schema::RowEdit::in_place, 1500)},
      operating);
  REQUIRE(out.steps.size() == 3);
  CHECK(out.steps[0].assignments[0].value == smi::Value::integer(5));
  CHECK(out.steps[1].assignments[0].name == "column");
  CHECK(out.steps[2].assignments[0].value == smi::Value::integer(1));
}

TEST_CASE("a changed row is changed in place, out of service, or made anew, as its model says") {
  const Bench bench;
  const auto steps = [&](schema::RowEdit edit) {
    Difference row = Bench::row(Difference::Kind::change_row, 3, false, edit);
    row.whole_row.push_back(Bench::item("other column", {1, 20, 1, 3, 3}));
    return change::sequence(bench.model, {row}, operating).steps;
  };
  CHECK(steps(schema::RowEdit::in_place).size() == 1);
  const auto service = steps(schema::RowEdit::out_of_service);
  REQUIRE(service.size() == 3);
  CHECK(service[0].assignments[0].value == smi::Value::integer(2));  // notInService
  CHECK(service[2].assignments[0].value == smi::Value::integer(1));  // active
  const auto anew = steps(schema::RowEdit::remake);
  REQUIRE(anew.size() == 2);
  CHECK(anew[0].assignments[0].value == smi::Value::integer(6));  // destroy
  CHECK(anew[1].assignments.size() == 3);                         // both columns and createAndGo
}

TEST_CASE("no request of a sequence is larger than a message but for one that holds a single large value") {
  const Bench bench;
  std::vector<Difference> many;
  for (std::uint32_t i = 1; i <= 200; ++i) {
    many.push_back(Bench::value("v" + std::to_string(i), i));
    many.back().items.front().desired = smi::Value::of_octets(std::string(40, 'x'));
  }
  std::size_t assigned = 0;
  for (const Step& step : change::sequence(bench.model, many, operating).steps) {
    std::size_t octets = 0;
    for (const change::Assignment& one : step.assignments)
      octets += change::varbind_octets(one.oid, one.value);
    CHECK(octets <= change::message_octets);
    assigned += step.assignments.size();
  }
  CHECK(assigned == 200);
}

TEST_CASE("a restore takes the differences the other way round") {
  const Bench bench;
  const std::vector<Difference> all{Bench::value("a", 1), Bench::row(Difference::Kind::make_row, 3),
                                    Bench::row(Difference::Kind::make_row, 4)};
  CHECK(abouts(change::sequence(bench.model, all, operating, change::Order::reverse)) ==
        Strings{"make table row4 (row 4)", "make table row3 (row 3)", "a"});
}

TEST_CASE("the size of a variable binding is that of its BER encoding (X.690)") {
  // SEQUENCE { OID 1.3.6.1.2.1.1.4.0 (8 octets), OCTET STRING "abc" }: 30 0f 06 08 2b.. 04 03 61 62 63
  CHECK(change::varbind_octets(smi::Oid{1, 3, 6, 1, 2, 1, 1, 4, 0}, smi::Value::of_octets("abc")) >= 17);
  CHECK(change::varbind_octets(smi::Oid{1, 3, 6, 1, 2, 1, 1, 4, 0}, smi::Value::of_octets("abc")) <= 18);
}

TEST_CASE("waves take their counts and shares, and the last one the rest") {
  using fleet::Wave;
  const std::vector<Wave> waves{{Wave::Kind::count, 1}, {Wave::Kind::percent, 10}, {Wave::Kind::rest, 0}};
  CHECK(change::wave_sizes(waves, 40) == std::vector<std::size_t>{1, 4, 35});
  CHECK(change::wave_sizes(waves, 2) == std::vector<std::size_t>{1, 1});
  CHECK(change::wave_sizes(waves, 1) == std::vector<std::size_t>{1});
  CHECK(change::wave_sizes(waves, 0).empty());
  CHECK(change::wave_sizes({}, 7) == std::vector<std::size_t>{7});
  CHECK(change::wave_sizes({{Wave::Kind::count, 3}}, 10) == std::vector<std::size_t>{3, 7});
}

}  // namespace
