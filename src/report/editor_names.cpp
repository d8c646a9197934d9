#include "report/editor_names.h"

#include <fmt/format.h>

#include <map>
#include <set>

#include "checks/before_power.h"
#include "fleet/import_fields.h"
#include "fleet/limits.h"
#include "fleet/names.h"
#include "fleet/rules.h"
#include "fleet/site.h"
#include "report/value_shape.h"
#include "smi/form.h"
#include "smi/syntax.h"
#include "smi/units.h"

namespace vergeset::report {

namespace {

constexpr std::size_t widest = 118;

OrderedJson to_definition(const std::string& name) {
  return {{"$ref", "#/definitions/" + name}};
}

/// A map of names that are all known; a map that holds nothing may be left empty.
OrderedJson map_of(const std::string& description, OrderedJson properties) {
  return {{"description", description},
          {"type", {"object", "null"}},
          {"properties", std::move(properties)},
          {"additionalProperties", false}};
}

std::string sentence(std::string text) {
  if (!text.empty() && text.back() != '.') text += '.';
  return text;
}

/// "needs standby; can cut the manager off", or nothing.
std::string traits_text(const schema::Traits& traits) {
  std::string text;
  const auto add = [&](bool has, const char* words) {
    if (has) text += (text.empty() ? "" : "; ") + std::string(words);
  };
  add(traits.needs_standby, "needs standby");
  add(traits.cuts_off, "can cut the manager off");
  return text;
}

std::string object_text(const schema::Model& model, const schema::Object& object) {
  std::string text = fmt::format("{}: {}", model.name, object.syntax.str());
  if (!object.unit.empty()) text += fmt::format(", counts in {}", object.unit);
  if (!object.note.empty()) text += "; " + object.note;
  if (const std::string traits = traits_text(object.traits); !traits.empty()) text += "; " + traits;
  return sentence(text);
}

std::string common_text(const schema::CommonSetting& common) {
  std::string text = sentence(common.about);
  if (!common.unit.empty()) text += fmt::format(" Its value carries a unit, as in {}.", common.unit);
  for (const auto& [model, mapping] : common.on) {
    if (mapping.object == nullptr) continue;
    text += fmt::format(" {}: {}{}.", model, mapping.from_payload ? "from the payload of " : "",
                        mapping.object->name);
  }
  return text;
}

/// What may be asked for under a name, of a setting or of a column, on all models that have it.
struct Named {
  ValueShape shape;
  std::string description;

  void add(const schema::Model& model, const schema::Object& object) {
    shape.add(object);
    const std::string text = object_text(model, object);
    // Models of one standard say the same of it.
    if (description.find(text) == std::string::npos) description += (description.empty() ? "" : " ") + text;
  }
  void add(const schema::CommonSetting& common) {
    shape.add(common);
    description += (description.empty() ? "" : " ") + common_text(common);
  }
  OrderedJson schema() const { return shape.schema(description); }
};

OrderedJson settings_of(const schema::Schema& schema, const fleet::Names& names) {
  OrderedJson out = OrderedJson::object();
  const auto put = [&](const std::string& name) {
    Named named;
    if (const auto common = schema.settings.find(name); common != schema.settings.end()) {
      named.add(common->second);
    }
    for (const auto& [model_name, model] : schema.models) {
      const schema::Object* const object = model->object(name);
      if (object != nullptr && object->configuration()) named.add(*model, *object);
    }
    out[name] = named.schema();
  };
  // An editor offers the common ones first.
  for (const auto& [name, common] : schema.settings) put(name);
  for (const std::string& name : names.settings()) {
    if (schema.settings.count(name) == 0 && names.bar_everywhere(name).empty()) put(name);
  }
  return map_of("Settings: common ones, which every model converts, or a standard's own.", std::move(out));
}

/// The tables that a name means, each with its model, and the common tables that are about them.
struct TablesNamed {
  std::vector<std::pair<const schema::Model*, const schema::Table*>> own;
  std::vector<const schema::CommonTable*> common;

  TablesNamed(const schema::Schema& schema, const std::string& name) {
    if (const auto found = schema.tables.find(name); found != schema.tables.end()) {
      common.push_back(&found->second);
      for (const auto& [model, table] : found->second.on) own.emplace_back(schema.model(model), table);
      return;
    }
    for (const auto& [model_name, model] : schema.models) {
      if (const schema::Table* table = model->table(name)) own.emplace_back(model.get(), table);
    }
    for (const auto& [common_name, table] : schema.tables) {
      for (const auto& [model, on] : table.on) {
        if (on != nullptr && on->name == name && (common.empty() || common.back() != &table)) {
          common.push_back(&table);
        }
      }
    }
  }

  std::string description() const {
    std::string text;
    for (const schema::CommonTable* table : common) text += sentence(table->about);
    std::set<std::string> said;
    for (const auto& [model, table] : own) {
      if (table == nullptr) continue;
      text += fmt::format("{}{}: {}.", text.empty() ? "" : " ", model->name, table->name);
      if (!table->note.empty() && said.insert(table->note).second) text += " " + sentence(table->note);
      if (!table->rows_are_made()) text += " Its rows are the unit's own: none can be made or removed.";
    }
    return text;
  }

  Named column(const std::string& name) const {
    Named named;
    for (const schema::CommonTable* table : common) {
      const auto found = table->columns.find(name);
      if (found != table->columns.end()) named.add(found->second);
    }
    for (const auto& [model, table] : own) {
      if (table == nullptr) continue;
      for (const schema::Object* object : table->columns) {
        if (object->name == name) named.add(*model, *object);
      }
    }
    return named;
  }
};

/// Columns, each written once: a common table and the tables that it is on the models share them.
class Columns {
 public:
  /// Definitions are added to `all`.
  explicit Columns(OrderedJson& all) : all_(all) {}

  OrderedJson reference(const std::string& column, const OrderedJson& schema) {
    const auto [known, fresh] = names_.try_emplace(schema.dump(), "column-" + column);
    if (fresh) {
      // A column of this name that takes something else.
      for (int number = 2; all_.contains(known->second); ++number) {
        known->second = fmt::format("column-{}-{}", column, number);
      }
      all_[known->second] = schema;
    }
    return to_definition(known->second);
  }

 private:
  OrderedJson& all_;
  std::map<std::string, std::string> names_;
};

OrderedJson row_schema(const TablesNamed& tables, const std::vector<std::string>& columns, Columns& known) {
  const OrderedJson member = known.reference("name", {{"enum", columns}});
  OrderedJson properties{
      {"match",
       {{"description",
         "The columns that pick the row out: a row found with these is this row, under whatever "
         "index."},
        {"anyOf", {member, {{"type", "array"}, {"minItems", 1}, {"items", member}}}}}},
      {"index", to_definition("index")},
      {"present", to_definition("present")}};
  for (const std::string& column : columns) {
    properties[column] = known.reference(column, tables.column(column).schema());
  }
  return {{"description", "A row: its columns, and what picks it out."},
          {"type", {"object", "null"}},
          {"properties", std::move(properties)},
          {"additionalProperties", false},
          {"not", {{"required", {"index", "match"}}}}};
}

OrderedJson tables_of(const schema::Schema& schema, const fleet::Names& names, OrderedJson& all) {
  Columns columns(all);
  OrderedJson out = OrderedJson::object();
  const auto put = [&](const std::string& name) {
    const TablesNamed tables(schema, name);
    out[name] = {{"description", tables.description()},
                 {"type", {"object", "null"}},
                 {"properties",
                  {{"others", to_definition("others")},
                   {"rows",
                    {{"description", "The rows that are asked for, each under a name of its own."},
                     {"type", {"object", "null"}},
                     {"additionalProperties", row_schema(tables, names.columns(name), columns)}}}}},
                 {"additionalProperties", false}};
  };
  for (const auto& [name, table] : schema.tables) put(name);
  for (const std::string& name : names.tables()) {
    if (schema.tables.count(name) == 0) put(name);
  }
  return map_of("Rows of tables: common ones, or a standard's own.", std::move(out));
}

OrderedJson traits_of(const fleet::Names& names) {
  OrderedJson out = OrderedJson::object();
  for (const std::string& name : names.own()) out[name] = to_definition("traits-of-one");
  return map_of("A vendor's quirks, by a standard's own names of objects and tables.", std::move(out));
}

OrderedJson by_model(const schema::Schema& schema, const std::string& description, const OrderedJson& each) {
  OrderedJson out = OrderedJson::object();
  for (const auto& [name, model] : schema.models) out[name] = each;
  return map_of(description, std::move(out));
}

OrderedJson models_of(const schema::Schema& schema) {
  std::string description = "A model:";
  OrderedJson names = OrderedJson::array();
  for (const auto& [name, model] : schema.models) {
    description += fmt::format("{} {} ({})", names.empty() ? "" : ",", name, model->title);
    names.push_back(name);
  }
  return {{"description", description + "."}, {"enum", std::move(names)}};
}

OrderedJson limits_of() {
  OrderedJson out = OrderedJson::object();
  for (const fleet::Limit& limit : fleet::limit_names()) {
    const std::string unit = limit.unit.empty() ? "" : fmt::format(" {}", limit.unit);
    OrderedJson one{
        {"description", sentence(fmt::format("{}; {} to {}{}", limit.meaning, limit.low, limit.high, unit))}};
    if (limit.unit.empty()) {
      one["anyOf"] = {{{"type", "number"}, {"minimum", limit.low}, {"maximum", limit.high}},
                      {{"type", "string"}, {"pattern", "^\\s*[-+]?[0-9.]+\\s*$"}}};
    } else {
      one["allOf"] =
          OrderedJson::array({to_definition(measure_name(smi::measure_of(limit.unit)->unit->dimension))});
    }
    out[std::string(limit.name)] = std::move(one);
  }
  return map_of("What findings are measured against; what is left out is as usual (vergeset check --rules).",
                std::move(out));
}

OrderedJson severities_of() {
  OrderedJson out = OrderedJson::object();
  for (const fleet::Rule& rule : fleet::rules()) {
    out[std::string(rule.name)] = {
        {"description",
         fmt::format("{} ({}); usually {}.", rule.meaning, rule.source, fleet::severity_name(rule.usual))},
        {"enum", {"ignore", "notice", "warning", "error"}}};
  }
  return map_of("How much each rule matters: ignore, notice, warning or error.", std::move(out));
}

/// Asked of site.h by trying: a field takes words alone where it refuses a word that nobody would use.
OrderedJson site_words(const std::string& field) {
  OrderedJson words = OrderedJson::array();
  for (const char* word : {"outdoor", "direct burial", "indoor"}) {
    fleet::Site site;
    Faults faults;
    fleet::add_site_field(site, {field, {}, word, {}, false}, faults);
    if (!faults.any()) words.push_back(word);
  }
  return words;
}

OrderedJson site_field(const std::string& name) {
  using Takes = fleet::ImportField::Takes;
  const auto field = fleet::import_field("site." + name);
  const Takes takes = field ? field->takes : Takes::words;
  if (takes == Takes::date) {
    return {{"anyOf",
             {{{"type", "string"},
               {"pattern", "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"},
               {"patternErrorMessage", "expected a date as in 2026-05-01"}},
              {{"type", "null"}}}}};
  }
  if (takes == Takes::measure || takes == Takes::latitude || takes == Takes::longitude) {
    const auto measure = smi::measure_of(takes == Takes::measure ? field->unit : "deg");
    return {{"anyOf",
             {{{"type", {"number", "null", "string"}}, {"pattern", "^\\s*[-+]?[0-9.]+\\s*$"}},
              to_definition(measure_name(measure.value().unit->dimension)),
              to_definition("list-of-one")}}};
  }
  const OrderedJson words = site_words(name);
  constexpr std::size_t tried = 3;
  fleet::Site site;
  Faults faults;
  fleet::add_site_field(site, {name, {}, "no word at all", {}, false}, faults);
  if (faults.any() && !words.empty() && words.size() <= tried) {
    return {{"anyOf", {{{"enum", words}}, to_definition("list-of-one"), {{"type", "null"}}}}};
  }
  return {{"anyOf",
           {to_definition("text"), to_definition("list"), to_definition("placeholder"), {{"type", "null"}}}}};
}

OrderedJson site_record() {
  OrderedJson out = OrderedJson::object();
  for (const auto& [name, meaning] : fleet::site_fields()) {
    OrderedJson field{{"description", sentence(meaning)}};
    field.update(site_field(name));
    out[name] = std::move(field);
  }
  return map_of("The site record: what was installed where.", std::move(out));
}

OrderedJson pole_checks_of() {
  OrderedJson out = OrderedJson::object();
  for (const checks::PoleCheck& check : checks::pole_checks()) {
    OrderedJson one{{"description", fmt::format("{}{}", check.asks,
                                                check.field.empty() ? "" : " (a value of the site record)")}};
    one["allOf"] =
        OrderedJson::array({to_definition(check.field.empty() ? "yes-or-no-answer" : "value-answer")});
    out[std::string(check.name)] = std::move(one);
  }
  return map_of("Checks that only a person at the pole can make, each with its answer; skip leaves one out.",
                std::move(out));
}

OrderedJson syntax_of() {
  std::string names;
  for (const smi::FormRule& rule : smi::form_rules()) {
    names += (names.empty() ? "" : "|") + std::string(rule.name);
  }
  return {{"description",
           "A syntax in the notation of RFC 2578, as in Integer32 (0..15) or INTEGER { off(0), "
           "on(1) }."},
          {"type", "string"},
          {"pattern", fmt::format("^\\s*(?:{})(?:\\s*[({{].*)?$", names)}};
}

OrderedJson yes_or_no(const std::string& description) {
  return {{"description", description}, {"allOf", OrderedJson::array({to_definition("yes-or-no")})}};
}

/// Values as they are written. Those that stand in a setting's place have no description: an editor would
/// show it instead of the setting's.
void add_values(OrderedJson& out) {
  out["text"] = {{"type", {"string", "number", "boolean"}}};
  out["yes-or-no"] = {
      {"anyOf",
       {{{"type", "boolean"}},
        {{"enum", {"yes", "no"}}},
        {{"type", "string"},
         {"pattern", "^" + in_any_case({"yes", "no", "true", "false", "on", "off"}) + "$"}}}}};
  out["placeholder"] = {{"$comment", "{unit} without quotes, which YAML reads as a map of one key."},
                        {"type", "object"},
                        {"additionalProperties", {{"type", "null"}}},
                        {"minProperties", 1},
                        {"maxProperties", 1}};
  out["file"] = {{"$comment", "Octets out of a file of hex digits."},
                 {"type", "object"},
                 {"properties",
                  {{"file",
                    {{"description", "Its path within the fleet's folder; {unit} and the like are put in."},
                     {"type", "string"}}}}},
                 {"required", {"file"}},
                 {"additionalProperties", false}};
  out["list"] = {{"type", "array"}, {"items", to_definition("text")}};
  out["list-of-one"] = out["list"];
  out["list-of-one"].update(OrderedJson{{"minItems", 1}, {"maxItems", 1}});
  for (const smi::Unit& unit : smi::units()) {
    const std::string name = measure_name(unit.dimension);
    if (out.contains(name)) continue;
    out[name] = measure_schema(unit.dimension, false);
    out[name + "-or-put-in"] = measure_schema(unit.dimension, true);
  }
}

/// What stands beside the columns of a row, beside the rows of a table, and under a table's traits.
void add_rows(OrderedJson& out) {
  out["others"] = {{"description",
                    "Rows that nobody asked for: keep (and report; as nothing said), remove, or "
                    "ignore."},
                   {"enum", {"keep", "remove", "ignore"}}};
  out["index"] = {{"description", "The row's index, where it is not found by match."},
                  {"anyOf",
                   {{{"type", "integer"}, {"minimum", 0}, {"maximum", 4294967295}},
                    {{"type", "string"}, {"pattern", "^[0-9]+$|\\{"}},
                    to_definition("placeholder"),
                    to_definition("list-of-one")}}};
  out["present"] = yes_or_no("no: the row is not to be there.");
  out["traits-of-one"] = {
      {"description", "Its traits, where they are not those of its model."},
      {"type", {"object", "null"}},
      {"properties",
       {{"needs-standby", yes_or_no("Whether the unit takes a SET of it in standby only.")},
        {"cuts-off", yes_or_no("Whether changing it can cut the manager off.")},
        {"ignored", yes_or_no("Whether it is never compared.")}}},
      {"additionalProperties", false}};
}

/// An answer at the pole, alone or with a note.
OrderedJson answer_schema(const OrderedJson& taken) {
  const OrderedJson answer{{"description", "The answer."}, {"allOf", OrderedJson::array({taken})}};
  const OrderedJson note{{"description", "A note, for the sheet."},
                         {"allOf", OrderedJson::array({to_definition("text")})}};
  const OrderedJson both{{"type", "object"},
                         {"properties", {{"answer", answer}, {"note", note}}},
                         {"required", {"answer"}},
                         {"additionalProperties", false}};
  return {{"anyOf", {taken, both}}};
}

void add_answers(OrderedJson& out) {
  const std::string words = in_any_case({"yes", "y", "no", "n", "skip"});
  const OrderedJson yes_no_skip{{"anyOf",
                                 {{{"type", "boolean"}},
                                  {{"enum", {"yes", "no", "skip"}}},
                                  {{"type", "string"}, {"pattern", "^\\s*" + words + "(?:[ ,;:].*)?$"}}}}};
  out["yes-or-no-answer"] = answer_schema(yes_no_skip);
  out["value-answer"] = answer_schema(to_definition("text"));
}

void add_lines(const OrderedJson& json, std::size_t indent, std::size_t taken, std::string& out) {
  const std::string line = json.dump(-1, ' ', false, OrderedJson::error_handler_t::replace);
  if (json.empty() || !json.is_structured() || taken + line.size() <= widest) {
    out += line;
    return;
  }
  const std::string inner(indent + 1, ' ');
  out += json.is_object() ? "{\n" : "[\n";
  std::size_t left = json.size();
  for (auto at = json.begin(); at != json.end(); ++at) {
    const std::string key = json.is_object() ? OrderedJson(at.key()).dump() + ": " : "";
    out += inner + key;
    add_lines(*at, indent + 1, inner.size() + key.size() + 1, out);
    out += --left > 0 ? ",\n" : "\n";
  }
  out += std::string(indent, ' ') + (json.is_object() ? "}" : "]");
}

}  // namespace

OrderedJson editor_names(const schema::Schema& schema) {
  const fleet::Names names(schema);
  OrderedJson all = OrderedJson::object();
  add_values(all);
  add_rows(all);
  add_answers(all);
  all["model"] = models_of(schema);
  all["syntax"] = syntax_of();
  all["limits"] = limits_of();
  all["severities"] = severities_of();
  all["firmware"] =
      by_model(schema, "The versions that are approved, by model; one that is not named has none to keep to.",
               {{"description", "Versions as the unit tells them."},
                {"anyOf", {to_definition("text"), to_definition("list"), {{"type", "null"}}}}});
  all["site"] = site_record();
  all["checks"] = pole_checks_of();
  all["traits"] = traits_of(names);
  all["block"] = {{"description", "What is asked for of this model alone."},
                  {"type", {"object", "null"}},
                  {"properties",
                   {{"settings", to_definition("settings")},
                    {"tables", to_definition("tables")},
                    {"traits", to_definition("traits")}}},
                  {"additionalProperties", false}};
  all["only"] = by_model(schema, "What is asked for of one model alone, stronger than what stands beside it.",
                         to_definition("block"));
  all["settings"] = settings_of(schema, names);
  all["tables"] = tables_of(schema, names, all);
  return {{"$schema", "http://json-schema.org/draft-07/schema#"},
          {"title", "Names that a fleet's files may hold"},
          {"$comment", "Written by `vergeset model schemas`; do not edit."},
          {"definitions", std::move(all)}};
}

std::string in_lines(const OrderedJson& json) {
  std::string out;
  add_lines(json, 0, 0, out);
  return out + "\n";
}

}  // namespace vergeset::report
