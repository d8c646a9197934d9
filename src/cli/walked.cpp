#include "cli/walked.h"

#include <fmt/format.h>

#include <algorithm>

#include "change/walk_file.h"
#include "cli/load.h"
#include "report/fleet_text.h"

namespace vergeset::cli {

namespace {

constexpr const char* not_walked = "not in this walk";

/// Whether a walk holds what tells any model from the others.
bool identifies(const fleet::Fleet& fleet, const fleet::Unit& unit, const change::AsFound& found) {
  if (unit.model->identity.present == nullptr) return true;
  for (const auto& [name, model] : fleet.schema->models) {
    const schema::Object* present = model->identity.present;
    if (present != nullptr && found.has(present->oid.child(0))) return true;
  }
  return false;
}

/// A walk that ends before a table, or begins behind it, says nothing of its rows.
bool walks_past(const change::AsFound& found, const schema::Table& table) {
  return !found.instances.empty() && found.instances.begin()->first < table.entry &&
         table.entry < found.instances.rbegin()->first;
}

}  // namespace

std::string not_identified(const fleet::Fleet& fleet, const fleet::Unit& unit, const change::AsFound& found) {
  if (identifies(fleet, unit, found)) return {};
  const schema::Object& present = *unit.model->identity.present;
  const bool internet = present.oid.within(smi::Oid{1, 3, 6, 1});
  return fmt::format(
      "the walk does not hold {}.0: is it empty, cut short, or of another subtree? Walk {} with snmpwalk -On",
      present.name, internet ? ".1.3.6.1" : ".1");
}

void tell_what_was_walked(change::Audited& unit) {
  change::Comparison& comparison = unit.comparison;
  for (change::Remark& remark : comparison.remarks) {
    if (remark.kind == change::Remark::Kind::not_offered) remark.text = not_walked;
  }
  const auto unknown = [&](const change::Difference& difference) {
    if (difference.kind != change::Difference::Kind::make_row) return false;
    const schema::Table* table = unit.unit->model->table(difference.row.table);
    if (table == nullptr || walks_past(unit.found, *table)) return false;
    comparison.remarks.push_back({change::Remark::Kind::not_offered, difference.name, not_walked});
    return true;
  };
  std::vector<change::Difference>& all = comparison.differences;
  all.erase(std::remove_if(all.begin(), all.end(), unknown), all.end());
  if (unit.verdict == change::Verdict::drifted && comparison.agrees()) unit.verdict = change::Verdict::agrees;
}

Result<change::AsFound> read_walked(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                    const std::string& path) {
  constexpr std::size_t most_told = 20;
  const auto text = read_file(path);
  if (!text) return Problem{text.problem()};
  Faults faults;
  change::AsFound found = change::read_walk(*text, path, faults);
  if (faults.any()) return Problem{"the walk cannot be read\n" + report::faults_text(faults, most_told)};
  if (const std::string why = not_identified(fleet, unit, found); !why.empty()) {
    return Problem{path + ": " + why};
  }
  if (found.engine_id.empty()) {
    if (const auto id = smi::from_hex(unit.engine_id)) found.engine_id = *id;
  }
  return found;
}

}  // namespace vergeset::cli
