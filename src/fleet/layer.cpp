#include "fleet/layer.h"

#include <algorithm>

#include "fleet/names.h"
#include "smi/suggest.h"

namespace vergeset::fleet {

namespace {

std::vector<Written> read_settings(const schema::Entry& map) {
  std::vector<Written> settings;
  for (const auto& [key, value] : map.pairs("a map of settings")) {
    if (auto written = read_written(key, value)) settings.push_back(std::move(*written));
  }
  return settings;
}

void read_match(const schema::Entry& key, const schema::Entry& value, RowBlock& row) {
  for (const schema::Entry& member : value.members("a list of columns such as [psid, message]")) {
    const std::string name = member.text("the name of a column");
    if (!name.empty()) row.match.push_back({"match", key.place(), name, member.place(), false});
  }
  if (row.match.empty() && (value.is_nothing() || value.is_list())) {
    key.fault("match names no column; write the columns that pick the row out, as in [psid, message]");
  }
}

void read_present(const schema::Entry& key, const schema::Entry& value, RowBlock& row) {
  const auto present = value.yes_no("whether the row is to be there");
  if (!present) return;
  row.wanted = *present;
  row.present = Written{"present", key.place(), *present ? "yes" : "no", value.place(), false};
}

RowBlock read_row(const schema::Entry& label, const schema::Entry& map) {
  RowBlock row;
  row.label = label.text("the row's name");
  row.place = label.place();
  for (const auto& [key, value] : map.pairs("a map of columns")) {
    const std::string name = key.text("a column's name");
    if (name == "match") {
      read_match(key, value, row);
    } else if (name == "index") {
      row.index = read_plain(key, value);
    } else if (name == "present") {
      read_present(key, value, row);
    } else if (auto written = read_written(key, value)) {
      row.columns.push_back(std::move(*written));
    }
  }
  if (row.index && !row.match.empty()) {
    label.fault("row " + row.label + " states both index and match; keep the one that finds it");
    row.match.clear();
  }
  return row;
}

TableBlock read_table(const schema::Entry& name, const schema::Entry& map) {
  TableBlock table;
  table.name = name.text("a table's name");
  table.place = name.place();
  map.only({"others", "rows"});
  if (map.is_text() || map.is_list()) map.pairs("a map with others: and rows:");
  if (!map.is_map()) return table;
  if (const schema::Entry others = map.at("others")) {
    const std::string text = others.text("keep, remove or ignore");
    if (text == "keep" || text == "remove" || text == "ignore") {
      table.others = Written{"others", others.place(), text, others.place(), false};
    } else if (others.is_text()) {
      others.fault("expected keep, remove or ignore for others, found " + text +
                   smi::suggestion(text, {"keep", "remove", "ignore"}));
    }
  }
  for (const auto& [label, row] : map.at("rows").pairs("a map of rows")) {
    if (row.is_map() || row.is_nothing()) {
      table.rows.push_back(read_row(label, row));
    } else {
      row.pairs("a map of columns");
    }
  }
  return table;
}

void read_traits(const schema::Entry& map, std::vector<TraitAsk>& traits) {
  for (const auto& [target, kinds] : map.pairs("a map of objects and tables")) {
    const std::string name = target.text("the name of an object or table");
    kinds.only({"needs-standby", "cuts-off", "ignored"});
    for (const auto& [key, value] : kinds.pairs("a map of needs-standby, cuts-off and ignored")) {
      const std::string trait = key.text("a trait");
      if (trait != "needs-standby" && trait != "cuts-off" && trait != "ignored") continue;
      const auto on = value.yes_no(trait);
      if (on) traits.push_back({name, target.place(), trait, value.place(), *on});
    }
  }
}

Block read_block(const schema::Entry& map) {
  Block block;
  block.settings = read_settings(map.at("settings"));
  for (const auto& [name, table] : map.at("tables").pairs("a map of tables")) {
    block.tables.push_back(read_table(name, table));
  }
  read_traits(map.at("traits"), block.traits);
  return block;
}

}  // namespace

const Block* Layer::only_for(const std::string& model) const {
  const auto found = std::find_if(only.begin(), only.end(), [&](const Only& o) { return o.model == model; });
  return found == only.end() ? nullptr : &found->block;
}

std::vector<std::string> layer_keys(std::vector<std::string> more) {
  more.insert(more.end(), {"settings", "tables", "traits", "only", "values"});
  return more;
}

bool value_name_fits(const Written& value, Faults& faults) {
  if (value.name == "unit" || value.name == "address" || value.name == "model") {
    faults.add(value.name_place, "{" + value.name + "} is already the unit's own; take another name");
    return false;
  }
  if (!plain_name(value.name) || value.name.find('.') != std::string::npos) {
    faults.add(value.name_place, "a name under values: has letters, digits, - and _; found " + value.name);
    return false;
  }
  if (value.text.find_first_of("{}") != std::string::npos) {
    faults.add(value.place, "the value of " + value.name +
                                " may not hold { or }: values are put in as they stand, nothing is put "
                                "into them; found " +
                                value.text);
    return false;
  }
  return true;
}

Layer read_layer(const schema::Entry& map, std::string name) {
  Layer layer;
  layer.name = std::move(name);
  if (!map.is_map()) return layer;
  layer.plain = read_block(map);
  for (const auto& [model, block] : map.at("only").pairs("a map of models")) {
    block.only({"settings", "tables", "traits"});
    const std::string model_name = model.text("a model's name");
    if (block.is_text() || block.is_list()) block.pairs("a map with settings:, tables: or traits:");
    if (block.is_map()) layer.only.push_back({model_name, model.place(), read_block(block)});
  }
  for (const auto& [key, value] : map.at("values").pairs("a map of values")) {
    auto written = read_plain(key, value);
    if (written && value_name_fits(*written, map.faults())) layer.values.push_back(std::move(*written));
  }
  return layer;
}

}  // namespace vergeset::fleet
