#include "schema/model_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "schema/model_text_notifications.h"
#include "schema/model_text_review.h"
#include "schema/model_text_scalar.h"
#include "smi/inert.h"
#include "smi/suggest.h"
#include "smi/units.h"
#include "smi/words.h"

namespace vergeset::schema {

namespace {

using smi::MibAccess;
using smi::MibObject;

constexpr std::size_t widest_line = 110;
constexpr std::size_t most_objects = 20'000;

constexpr std::string_view head =
    "# Names, identifiers, syntaxes and access are what the MIB says. What a SET does to a unit no MIB says: "
    "a\n"
    "# person has to, before a fleet relies on this. Look at each line that says \"review\":\n"
    "#\n"
    "#   traits: [action]         setting it does something (a reboot): never desired, never restored\n"
    "#   traits: [running]        the unit's own programs or a query write it: not configuration\n"
    "#   traits: [needs-standby]  the unit takes it in standby only\n"
    "#   traits: [cuts-off]       changing it can cut the manager off (addresses, gateway, port)\n"
    "#\n"
    "# None of these is set unless the MIB says so. Take the word \"review\" out where you have looked.\n";

std::string_view access_word(const MibObject& object) {
  switch (object.access) {
    case MibAccess::read_only:
      return "read-only";
    case MibAccess::read_write:
    case MibAccess::write_only:
      return "read-write";
    case MibAccess::read_create:
      return "read-create";
    case MibAccess::none:
    case MibAccess::not_accessible:
    case MibAccess::notify:
      break;
  }
  return "not-accessible";
}

/// DEFVAL as the model files write a value; empty where it says nothing that the syntax allows.
std::string default_text(const PartObject& part) {
  using smi::Form;
  constexpr std::string_view quote = "\\\"";  // as net-snmp's parser leaves it
  std::string_view text = part.object->initial;
  const Form form = part.syntax.syntax.form;
  if (text.empty()) return {};
  if (form == Form::display_string || form == Form::address_text) {
    const bool quoted = text.size() >= 2 * quote.size() && text.starts_with(quote) && text.ends_with(quote);
    if (!quoted) return {};
    text = text.substr(quote.size(), text.size() - 2 * quote.size());
    if (text.find('\\') != text.npos || text != smi::inert(text)) return {};
  } else if (form != Form::integer && form != Form::enumeration && form != Form::gauge) {
    return {};
  }
  const std::string value(text);
  return smi::encode(part.syntax.syntax, value) && !value.empty() ? value : "";
}

using Fields = std::vector<std::pair<std::string, std::string>>;

std::string words_text(const std::vector<smi::Label>& words) {
  std::string text;
  for (const smi::Label& word : words)
    text += fmt::format("{}{}: {}", text.empty() ? "" : ", ", yaml_scalar(word.name), word.number);
  return "{" + text + "}";
}

Fields fields_of(const PartObject& part, const std::string& oid) {
  const MibObject& object = *part.object;
  Fields fields{{"oid", oid}, {"syntax", yaml_scalar(part.syntax.syntax.str())}};
  if (!part.syntax.syntax.words.empty()) fields.emplace_back("words", words_text(part.syntax.syntax.words));
  fields.emplace_back("access", access_word(object));
  const std::string units(smi::trimmed(object.units));
  if (!units.empty() && smi::measure_of(units)) fields.emplace_back("unit", yaml_scalar(units));
  if (const std::string value = default_text(part); !value.empty())
    fields.emplace_back("default", yaml_scalar(value));
  if (is_told_an_action(object)) fields.emplace_back("traits", "[action]");
  return fields;
}

std::string review_text(const std::vector<std::string>& things) {
  std::string text;
  for (const std::string& thing : things) text += (text.empty() ? "review: " : "; ") + smi::inert(thing);
  return text;
}

/// An object on one line where that is short enough; what is to be reviewed behind it, or above.
std::string object_text(const PartObject& part, const std::string& oid, const std::string& indent) {
  const Fields fields = fields_of(part, oid);
  const std::string key = indent + yaml_scalar(part.object->name) + ":";
  const std::string review = review_text(things_to_review(part));
  std::string line;
  std::string lines;
  for (const auto& [name, value] : fields) {
    line += fmt::format("{}{}: {}", line.empty() ? "" : ", ", name, value);
    lines += fmt::format("{}  {}: {}\n", indent, name, value);
  }
  line = key + " {" + line + "}";
  const bool short_enough = line.size() <= widest_line;
  if (short_enough && !review.empty() && line.size() + review.size() + 4 <= widest_line)
    return line + "  # " + review + "\n";
  const std::string above = review.empty() ? "" : indent + "# " + review + "\n";
  return above + (short_enough ? line + "\n" : key + "\n" + lines);
}

std::string table_text(const PartTable& table, const smi::Oid& root) {
  const std::string review = review_text(things_to_review(table));
  std::string text = review.empty() ? "" : "  # " + review + "\n";
  text += fmt::format("  {}:\n    oid: {}\n    index: {}\n", yaml_scalar(table.table->name),
                      table.table->oid.tail(root).str(), yaml_scalar(table.index));
  if (!table.status.empty()) text += "    status: " + yaml_scalar(table.status) + "\n";
  text += "    columns:\n";
  for (const PartObject& column : table.columns)
    text += object_text(column, std::to_string(column.object->oid.back()), "      ");
  return text;
}

/// Left of the names of MIBs what tells them apart: "LARKMOOR-RSU-MIB" is larkmoor-rsu.
std::string model_name(const std::string& module) {
  std::string name = smi::lower(module);
  if (name.size() > 4 && name.ends_with("-mib")) name.resize(name.size() - 4);
  return name;
}

/// The identifier that all objects share.
smi::Oid shared_root(const smi::Mib& mib) {
  std::optional<smi::Oid> root;
  for (const MibObject& object : mib.objects) {
    if (object.type == smi::MibType::node) continue;
    if (!root) root = object.oid.parent();
    while (!root->empty() && !(object.oid.within(*root) && object.oid != *root)) root = root->parent();
  }
  return root.value_or(smi::Oid{});
}

/// Which objects are wished for, and what their identifiers stand below in the file.
struct Roots {
  smi::Oid wished;
  smi::Oid file;
};

Result<smi::Oid> named_node(const smi::Mib& mib, const std::string& wish) {
  if (const auto oid = smi::Oid::parse(wish)) return *oid;
  std::vector<std::string> known;
  for (const MibObject& object : mib.objects) {
    if (object.name == wish) return object.oid;
    known.push_back(object.name);
  }
  return Problem{
      fmt::format("no node {} is in these modules{}", smi::shown(wish), smi::suggestion(wish, known))};
}

Result<Roots> roots_of(const smi::Mib& mib, const std::string& wish) {
  if (wish.empty()) {
    const smi::Oid root = shared_root(mib);
    if (root.size() < 2) return Problem{"the objects have nothing in common; choose some with --root NAME"};
    return Roots{root, root};
  }
  const auto root = named_node(mib, wish);
  if (!root) return Problem{root.problem()};
  for (const MibObject& object : mib.objects) {
    const bool entry = !object.index.empty() || !object.augments.empty();
    if (entry && root->within(object.oid))
      return Problem{fmt::format("{} stands inside a table, and a model has tables whole; name the table",
                                 smi::shown(wish))};
  }
  const bool is_object = std::ranges::any_of(mib.objects, [&](const MibObject& object) {
    return object.type != smi::MibType::node && object.oid == *root;
  });
  return Roots{*root, is_object ? root->parent() : *root};
}

/// The first scalar that can be read, or what every agent has.
std::string recognise_text(const ModelParts& parts) {
  for (const PartObject& part : parts.scalars) {
    if (!can_be_read(*part.object)) continue;
    return fmt::format(
        "# review: the first scalar that can be read. Better one that no other model has, or its value too:\n"
        "# {{object: NAME, equals: VALUE}}\n"
        "recognise: {{object: {}}}\n",
        yaml_scalar(part.object->name));
  }
  return "# review: no scalar of the MIB can be read, and this one every unit has; its value tells it:\n"
         "# {object: sysObjectID, equals: 1.3.6.1.4.1.N}\n"
         "recognise: {object: sysObjectID}\n";
}

std::string label_like(const PartObject& part, std::string_view word) {
  if (part.syntax.syntax.form != smi::Form::enumeration) return {};
  for (const smi::Label& label : part.syntax.syntax.labels)
    if (smi::lower(label.name) == word) return label.name;
  return {};
}

/// A mode where one object that can be set names both standby and operate.
std::string mode_text(const ModelParts& parts) {
  std::vector<const PartObject*> asked;
  std::vector<const PartObject*> shown;
  for (const PartObject& part : parts.scalars) {
    if (label_like(part, "standby").empty() || label_like(part, "operate").empty()) continue;
    if (!can_be_read(*part.object)) continue;
    (can_be_set(*part.object) ? asked : shown).push_back(&part);
  }
  std::string none =
      "# review: where the unit keeps standby and operate; without it nothing can need standby\n"
      "# mode: {asked: NAME, status: NAME, standby: LABEL, operate: LABEL, fault: LABEL}\n";
  if (asked.size() != 1) return none;
  const PartObject& mode = *asked.front();
  const auto same = [&](const PartObject* part) {
    return label_like(*part, "standby") == label_like(mode, "standby") &&
           label_like(*part, "operate") == label_like(mode, "operate");
  };
  const bool reached = shown.size() == 1 && same(shown.front());
  return fmt::format(
      "# review: a guess by the labels\nmode: {{asked: {}, status: {}, standby: {}, operate: {}}}\n",
      yaml_scalar(mode.object->name), yaml_scalar((reached ? *shown.front() : mode).object->name),
      yaml_scalar(label_like(mode, "standby")), yaml_scalar(label_like(mode, "operate")));
}

std::string head_text(const smi::Mib& mib, const ModelWish& wish, const std::string& name,
                      const smi::Oid& root, const ModelParts& parts) {
  std::string modules;
  for (const std::string& module : mib.modules) modules += (modules.empty() ? "" : ", ") + module;
  std::string text = fmt::format("# Made by `vergeset model from-mib` of {}.\n#\n", smi::inert(wish.files));
  text += head;
  text += fmt::format("\nmodel: {}\ntitle: {}\nsource: {}\nroot: {}\n\n", yaml_scalar(name),
                      yaml_scalar(mib.modules.front()), yaml_scalar("the MIB " + modules),
                      yaml_scalar(root.str()));
  text += recognise_text(parts) + "\n" + mode_text(parts) + "\n";
  return text +
         "# review: what says which unit this is, and where it finds itself\n"
         "# identity: {unit-id: NAME, latitude: NAME, longitude: NAME, sentence: NAME}\n";
}

std::string left_out_text(const ModelParts& parts) {
  if (parts.left_out.empty()) return {};
  std::string text = "\n# Left out, since a model cannot hold it:\n";
  for (const LeftOut& left : parts.left_out)
    text += fmt::format("#   {} ({}): {}\n", smi::inert(left.name), left.oid.str(), smi::inert(left.why));
  return text;
}

Problem too_many() {
  return Problem{fmt::format(
      "there are more than {} objects or notifications, which no unit has; choose some with --root "
      "NAME",
      most_objects)};
}

/// The module's name tells a maker's MIB; that of a standard is the base's own.
std::string based_name(const smi::Mib& mib, const ModelWish& wish, const Model& base) {
  if (!wish.name.empty()) return wish.name;
  const std::string name = model_name(mib.modules.front());
  return name == base.name ? name + "-notifications" : name;
}

std::string nothing_new(const ModelWish& wish, const Model& base, const ModelParts& parts) {
  if (parts.left_out.empty()) return "no notification stands below " + smi::shown(wish.root);
  const LeftOut& left = parts.left_out.front();
  return fmt::format("{} has no notification to add to {}: {}: {}", wish.files, base.name,
                     smi::inert(left.name), left.why);
}

}  // namespace

Result<ModelText> model_text(const smi::Mib& mib, const ModelWish& wish) {
  if (mib.modules.empty()) return Problem{"there is no MIB module in it"};
  if (std::ranges::all_of(mib.objects, [](const MibObject& one) { return one.type == smi::MibType::node; }))
    return Problem{
        fmt::format("{} has no objects, only names, types or notifications; notifications can be added to a "
                    "model that has the objects, with --based-on",
                    wish.files)};
  const auto roots = roots_of(mib, wish.root);
  if (!roots) return Problem{roots.problem()};
  const smi::Oid& root = roots->file;
  ModelText made{wish.name.empty() ? model_name(mib.modules.front()) : wish.name, "",
                 model_parts(mib, roots->wished)};
  add_notifications(mib, wish.root.empty() ? smi::Oid{} : roots->wished, known_to(made.parts), made.parts);
  const std::size_t objects = made.parts.scalars.size() + made.parts.tables.size() + made.parts.columns();
  if (std::max(objects, made.parts.notifications.size()) > most_objects) return too_many();
  if (made.parts.scalars.empty() && made.parts.tables.empty())
    return Problem{fmt::format("no object that a model can hold stands {}",
                               wish.root.empty() ? "in it" : "below " + smi::shown(wish.root))};
  made.text = head_text(mib, wish, made.name, root, made.parts);
  if (!made.parts.scalars.empty()) made.text += "\nscalars:\n";
  for (const PartObject& part : made.parts.scalars)
    made.text += object_text(part, part.object->oid.tail(root).str(), "  ");
  if (!made.parts.tables.empty()) made.text += "\ntables:\n";
  bool first = true;
  for (const PartTable& table : made.parts.tables) {
    made.text += (std::exchange(first, false) ? "" : "\n") + table_text(table, root);
  }
  if (const std::string text = notifications_text(made.parts, root); !text.empty()) made.text += "\n" + text;
  made.text += left_out_text(made.parts);
  return made;
}

Result<ModelText> based_model_text(const smi::Mib& mib, const ModelWish& wish, const Model& base) {
  if (mib.modules.empty()) return Problem{"there is no MIB module in it"};
  if (mib.notifications.empty())
    return Problem{
        fmt::format("{} has no notifications (NOTIFICATION-TYPE or TRAP-TYPE that is not obsolete); "
                    "--based-on takes them "
                    "alone",
                    wish.files)};
  smi::Oid below;
  if (!wish.root.empty()) {
    const auto root = named_node(mib, wish.root);
    if (!root) return Problem{root.problem()};
    below = *root;
  }
  ModelText made{based_name(mib, wish, base), "", {}};
  add_notifications(mib, below, known_to(base), made.parts);
  if (made.parts.notifications.size() > most_objects) return too_many();
  if (made.parts.notifications.empty()) return Problem{nothing_new(wish, base, made.parts)};
  made.text = fmt::format(
      "# Made by `vergeset model from-mib` of {}: what a unit says unasked, by the names of its MIB.\n"
      "# All else is that of {}. Units whose `model:` is {} have these names.\n\n"
      "model: {}\ntitle: {}\nbased-on: {}\n\n",
      smi::inert(wish.files), base.name, smi::inert(made.name), yaml_scalar(made.name),
      yaml_scalar(base.title + " with notifications"), yaml_scalar(base.name));
  made.text += notifications_text(made.parts, base.root) + left_out_text(made.parts);
  return made;
}

}  // namespace vergeset::schema
