#include "fleet/resolve.h"

#include <fmt/format.h>

namespace vergeset::fleet {

namespace {

using Said = std::map<std::string, std::vector<Say>>;  // by trait

void apply(const Reading& reading, const std::string& target, const Said& said, schema::Traits& traits) {
  for (const auto& [trait, says] : said) {
    const bool on = settle(reading, fmt::format("{} of {}", trait, target), says).text == "yes";
    if (trait == "needs-standby") traits.needs_standby = on;
    if (trait == "cuts-off") traits.cuts_off = on;
    if (trait == "ignored") traits.ignored = on;
  }
}

/// The traits under a name; where no layer spoke of it before, those of the model.
schema::Traits& own_or(Desired& desired, const std::string& name, const schema::Traits& of_model) {
  const bool known = desired.traits.find(name) != nullptr;
  schema::Traits& own = desired.traits[name];
  if (!known) own = of_model;
  return own;
}

void apply_table(const Reading& reading, const schema::Table& table, const Said& said, Desired& desired) {
  schema::Traits& own = desired.traits[table.name];
  own.needs_standby = table.needs_standby;
  apply(reading, table.name, said, own);
  for (const schema::Object* column : table.columns) {
    apply(reading, table.name, said, own_or(desired, column->name, column->traits));
  }
}

}  // namespace

/// A table's trait holds for its columns too, and a column's own is stronger.
void settle_traits(const Reading& reading, const Asks& asks, Desired& desired) {
  std::map<std::string, Said> said;
  for (const Source& source : asks.sources) {
    for (const TraitAsk& ask : source.block->traits) {
      said[ask.target][ask.trait].push_back({&source, ask.place, ask.on ? "yes" : "no", nullptr});
    }
  }
  const schema::Model& model = *reading.unit.model;
  for (const auto& [target, traits] : said) {
    if (const schema::Table* table = model.table(target)) apply_table(reading, *table, traits, desired);
  }
  for (const auto& [target, traits] : said) {
    const schema::Object* const object = model.object(target);
    if (object == nullptr) continue;
    apply(reading, target, traits, own_or(desired, object->name, object->traits));
  }
}

}  // namespace vergeset::fleet
