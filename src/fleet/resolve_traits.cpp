#include "fleet/resolve.h"

namespace vergeset::fleet {

namespace {

using Said = std::map<std::string, std::vector<Say>>;  // by trait

void apply(const Reading& reading, const std::string& target, const Said& said, schema::Traits& traits) {
  for (const auto& [trait, says] : said) {
    const bool on = settle(reading, trait + " of " + target, says).text == "yes";
    if (trait == "needs-standby") traits.needs_standby = on;
    if (trait == "cuts-off") traits.cuts_off = on;
    if (trait == "ignored") traits.ignored = on;
  }
}

void apply_table(const Reading& reading, const schema::Table& table, const Said& said, Desired& desired) {
  schema::Traits& own = desired.traits[table.name];
  own.needs_standby = table.needs_standby;
  apply(reading, table.name, said, own);
  for (const schema::Object* column : table.columns) {
    schema::Traits& traits = desired.traits.try_emplace(column->name, column->traits).first->second;
    apply(reading, table.name, said, traits);
  }
}

}  // namespace

/// A table's trait holds for its columns too, and a column's own is stronger.
void resolve_traits(const Reading& reading, const std::vector<Source>& sources, Desired& desired) {
  std::map<std::string, Said> said;
  for (const Source& source : sources) {
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
    schema::Traits& own = desired.traits.try_emplace(object->name, object->traits).first->second;
    apply(reading, target, traits, own);
  }
}

}  // namespace vergeset::fleet
