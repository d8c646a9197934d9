#include "report/kept_audit.h"

#include <fmt/format.h>

#include <initializer_list>
#include <optional>

#include "report/words.h"

namespace vergeset::report {

namespace {

using change::Difference;
using change::Item;
using change::Remark;
using change::Verdict;

records::AuditedItem kept(const Item& item) {
  return {item.setting,        {item.name, item.oid, item.as_found},
          item.desired,        item.as_found_text(),
          item.desired_text(), item.needs_standby,
          item.cuts_off,       item.asked};
}

records::AuditedDifference kept(const Difference& difference) {
  records::AuditedDifference out;
  out.name = difference.name;
  out.kind = kind_name(difference.kind);
  if (difference.is_row()) {
    out.table = difference.row.table;
    out.row = difference.row.index;
  }
  out.asked = difference.asked;
  out.needs_standby = difference.standby();
  for (const Item& item : difference.items) out.items.push_back(kept(item));
  if (difference.kind != Difference::Kind::remove_row) return out;
  for (const Item& item : difference.whole_row) {
    if (item.as_found.absent()) continue;
    out.items.push_back(kept(item));
    out.items.back().desired.reset();
    out.items.back().desired_words.clear();
  }
  return out;
}

template <class Kind>
std::optional<Kind> kind_of(const std::string& name, std::initializer_list<Kind> kinds) {
  for (const Kind kind : kinds) {
    if (name == kind_name(kind)) return kind;
  }
  return std::nullopt;
}

std::optional<Difference::Kind> difference_kind(const std::string& name) {
  using Kind = Difference::Kind;
  return kind_of(name, {Kind::value, Kind::make_row, Kind::change_row, Kind::remove_row});
}

std::optional<Remark::Kind> remark_kind(const std::string& name) {
  using Kind = Remark::Kind;
  return kind_of(name, {Kind::other_row, Kind::not_offered, Kind::left_out});
}

std::optional<Verdict> verdict_of(const std::string& name) {
  for (const Verdict verdict : {Verdict::agrees, Verdict::drifted, Verdict::no_answer, Verdict::wrong_unit}) {
    if (name == verdict_name(verdict)) return verdict;
  }
  return std::nullopt;
}

/// Rebuilds what one unit's record holds; the first thing that does not fit ends it.
class Rebuilding {
 public:
  Rebuilding(const records::AuditedUnit& kept, const fleet::Unit& unit) : kept_(kept), unit_(unit) {}

  Result<change::Audited> take() {
    const auto verdict = verdict_of(kept_.verdict);
    if (!verdict) return Problem{"no verdict of an audit: " + kept_.verdict};
    change::Audited out;
    out.unit = &unit_;
    out.verdict = *verdict;
    out.what = kept_.what;
    out.found.taken = kept_.taken;
    for (const auto& one : kept_.differences) out.comparison.differences.push_back(difference(one));
    out.comparison.obstacles = kept_.obstacles;
    for (const auto& one : kept_.remarks) out.comparison.remarks.push_back(remark(one));
    for (const auto& one : kept_.health) out.health.push_back(finding(one));
    out.doors = kept_.doors;
    out.position = kept_.position;
    out.counted = kept_.counted;
    out.ends = kept_.ends;
    if (!problem_.empty()) return Problem{problem_};
    return out;
  }

 private:
  /// One from before findings had severities was what is now a warning.
  checks::Finding finding(const records::AuditedFinding& kept) {
    const std::string name = kept.severity.empty() ? "warning" : kept.severity;
    const auto severity = fleet::severity_named(name);
    if (!severity) problem_ = "no severity of a finding: " + name;
    return {kept.rule, severity.value_or(fleet::Severity::warning), kept.text, kept.source};
  }

  Item item(const records::AuditedItem& kept) {
    Item out;
    out.name = kept.as_found.name;
    out.setting = kept.setting;
    out.oid = kept.as_found.oid;
    out.as_found = kept.as_found.value;
    out.desired = kept.desired.value_or(smi::Value::of_number(smi::Type::no_such_instance, 0));
    out.needs_standby = kept.needs_standby;
    out.cuts_off = kept.cuts_off;
    out.asked = kept.asked;
    const schema::Object* const object = unit_.model->object_at(out.oid);
    if (object == nullptr) {
      does_not_fit(fmt::format("{} has no object {}", unit_.model->title, out.name));
      return out;
    }
    out.syntax = object->syntax;
    out.unit = object->unit;
    if (out.as_found_text() != kept.as_found_words) out.found_words = kept.as_found_words;
    return out;
  }

  Difference difference(const records::AuditedDifference& kept) {
    Difference out;
    const auto kind = difference_kind(kept.kind);
    if (!kind) does_not_fit("no kind of difference: " + kept.kind);
    out.kind = kind.value_or(Difference::Kind::value);
    out.name = kept.name;
    out.asked = kept.asked;
    if (out.is_row()) out.row = place(kept);
    const bool goes = out.kind == Difference::Kind::remove_row;
    for (const auto& one : kept.items) (goes ? out.whole_row : out.items).push_back(item(one));
    // Text takes the one item of a value for granted.
    if (!out.is_row() && out.items.size() != 1) does_not_fit(kept.name + " holds no value");
    return out;
  }

  change::RowPlace place(const records::AuditedDifference& kept) {
    change::RowPlace out;
    out.table = kept.table;
    out.index = kept.row;
    out.needs_standby = kept.needs_standby;
    const schema::Table* const table = unit_.model->table(kept.table);
    if (table == nullptr) {
      does_not_fit(fmt::format("{} has no table {}", unit_.model->title, kept.table));
    } else {
      out.edit = table->edit;
    }
    return out;
  }

  Remark remark(const records::AuditedRemark& kept) {
    const auto kind = remark_kind(kept.kind);
    if (!kind) does_not_fit("no kind of remark: " + kept.kind);
    return {kind.value_or(Remark::Kind::other_row), kept.name, kept.text};
  }

  void does_not_fit(const std::string& why) {
    if (problem_.empty()) problem_ = why;
  }

  const records::AuditedUnit& kept_;
  const fleet::Unit& unit_;
  std::string problem_;
};

}  // namespace

records::AuditedUnit kept(const change::Audited& unit) {
  records::AuditedUnit out;
  out.unit = unit.unit->name;
  out.verdict = verdict_name(unit.verdict);
  out.what = unit.what;
  out.taken = unit.found.taken;
  for (const Difference& one : unit.comparison.differences) out.differences.push_back(kept(one));
  out.obstacles = unit.comparison.obstacles;
  for (const Remark& one : unit.comparison.remarks) {
    out.remarks.push_back({kind_name(one.kind), one.name, one.text});
  }
  for (const checks::Finding& one : unit.health)
    out.health.push_back({one.rule, std::string(fleet::severity_name(one.severity)), one.text, one.source});
  out.doors = unit.doors;
  out.position = unit.position;
  out.counted = unit.counted;
  out.ends = unit.ends;
  return out;
}

Result<change::Audited> from_kept(const records::AuditedUnit& kept, const fleet::Unit& unit) {
  auto audited = Rebuilding(kept, unit).take();
  if (!audited) return Problem{unit.name + ": " + audited.problem()};
  return audited;
}

}  // namespace vergeset::report
