#include "change/as_found.h"

#include <algorithm>

#include "records/clock.h"

namespace vergeset::change {

const smi::Value& AsFound::at(const smi::Oid& instance) const {
  static const smi::Value none = smi::Value::of_number(smi::Type::no_such_instance, 0);
  const auto found = instances.find(instance);
  return found == instances.end() ? none : found->second;
}

bool AsFound::offers(const schema::Object& object) const {
  if (object.table == nullptr) return has(object.oid.child(0));
  for (auto at = instances.lower_bound(object.oid); at != instances.end() && at->first.within(object.oid);
       ++at) {
    if (!at->second.absent()) return true;
  }
  return false;
}

std::vector<std::uint32_t> AsFound::rows_of(const schema::Table& table) const {
  std::vector<std::uint32_t> rows;
  for (auto at = instances.lower_bound(table.entry); at != instances.end() && at->first.within(table.entry);
       ++at) {
    const bool one_index = at->first.size() == table.entry.size() + 2;
    if (one_index && !at->second.absent()) rows.push_back(at->first.back());
  }
  std::sort(rows.begin(), rows.end());
  rows.erase(std::unique(rows.begin(), rows.end()), rows.end());
  return rows;
}

checks::AsRead as_read(const schema::Model& model, const AsFound& found) {
  return {model, [&found](const smi::Oid& instance) -> const smi::Value& { return found.at(instance); },
          [&found](const schema::Table& table) { return found.rows_of(table); },
          records::milliseconds_of(found.taken).value_or(0)};
}

}  // namespace vergeset::change
