#include <fmt/format.h>

#include "schema/fields.h"
#include "smi/suggest.h"

namespace vergeset::schema {

namespace {

constexpr long long greatest_arc = 4294967295;

constexpr std::array<Word<RowEdit>, 3> edit_words{{{"in place", RowEdit::in_place},
                                                   {"out of service", RowEdit::out_of_service},
                                                   {"remake", RowEdit::remake}}};

constexpr std::array<Word<bool>, 1> table_traits{{{"needs-standby", true}}};

/// A key that says nothing of what a new object needs is meant to change one that is known.
void fault_unknown(const Entry& key, const Draft& draft) {
  std::vector<std::string> known;
  for (const auto& [name, object] : draft.objects) known.push_back(name);
  const std::string name = key.text("a name");
  key.fault(fmt::format("no object {} is known here{}; a new one needs `oid:`, `syntax:` and `access:`", name,
                        smi::suggestion(name, known)));
}

/// Whether a key may define a new object, or change a known one, in `table` (empty for a scalar).
bool may_define(const Entry& key, const Entry& body, const std::string& table, const Draft& draft) {
  if (!body.is_map()) {
    key.fault("an object is a map: {oid: ..., syntax: ..., access: ...}");
    return false;
  }
  const std::string name = key.text("a name");
  if (const auto at = draft.tables.find(name); at != draft.tables.end()) {
    key.fault(fmt::format("{} is a table already, at {}", name, at->second.key.place().str()));
    return false;
  }
  const auto known = draft.objects.find(name);
  if (known == draft.objects.end()) {
    if (body.at("oid") || body.at("absolute") || body.at("syntax") || body.at("access")) return true;
    fault_unknown(key, draft);
    return false;
  }
  if (known->second.table == table && known->second.key.file() != key.file()) return true;
  key.fault(fmt::format("{} is defined already, at {}; an object has one name and one place", name,
                        known->second.key.place().str()));
  return false;
}

/// Puts an object into the draft, or finds it there. True where it is new.
bool enter(const Entry& key, const std::string& table, Draft& draft) {
  const std::string name = key.text("a name");
  const auto [at, fresh] = draft.objects.try_emplace(name);
  if (fresh) at->second.order = ++draft.defined;
  at->second.key = key;
  at->second.table = table;
  draft.model->objects[name].name = name;
  return fresh;
}

void read_scalar(const Entry& key, const Entry& body, Draft& draft) {
  if (!may_define(key, body, "", draft)) return;
  const bool fresh = enter(key, "", draft);
  const std::string name = key.text("a name");
  Object& object = draft.model->objects[name];
  body.only({"oid", "absolute", "syntax", "words", "access", "unit", "default", "traits", "note"});
  if (const Entry absolute = body.at("absolute")) {
    object.oid = read_whole_oid(absolute, draft.root);
    if (const Entry oid = body.at("oid")) oid.fault("`oid:` and `absolute:` exclude each other; keep one");
  } else if (fresh || body.at("oid")) {
    object.oid = read_oid_below(body.need("oid"), draft.root);
  }
  read_fields(body, object, draft.objects[name], fresh);
}

void read_column(const Entry& key, const Entry& body, const Table& table, Draft& draft) {
  if (!may_define(key, body, table.name, draft)) return;
  const bool fresh = enter(key, table.name, draft);
  const std::string name = key.text("a name");
  Object& object = draft.model->objects[name];
  body.only({"oid", "syntax", "words", "access", "unit", "default", "traits", "note"});
  object.table = &table;
  if (fresh || body.at("oid")) {
    const auto arc = body.need("oid").number("the number of the column below the entry", 1, greatest_arc);
    object.oid =
        arc && !table.entry.empty() ? table.entry.child(static_cast<std::uint32_t>(*arc)) : smi::Oid{};
  }
  read_fields(body, object, draft.objects[name], fresh);
}

void read_table_fields(const Entry& body, Table& table, TableDraft& draft) {
  if (const Entry index = body.at("index")) draft.index = index;
  if (const Entry status = body.at("status")) draft.status = status;
  if (const Entry most = body.at("most")) draft.most = most;
  if (const Entry note = body.at("note")) table.note = note.text("a note");
  if (const Entry edit = body.at("edit")) {
    if (const auto* word = word_of(edit, edit_words, "the edit of a row")) table.edit = word->meaning;
  }
  if (const Entry list = body.at("traits")) {
    table.needs_standby = false;
    for (const Entry& member : list.members("a list of traits")) {
      if (word_of(member, table_traits, "a trait of a table") != nullptr) table.needs_standby = true;
    }
  }
}

void read_table(const Entry& key, const Entry& body, Draft& draft) {
  const std::string name = key.text("a name");
  const bool fresh = draft.tables.find(name) == draft.tables.end();
  if (const auto known = draft.objects.find(name); known != draft.objects.end()) {
    key.fault(fmt::format("{} is an object already, at {}", name, known->second.key.place().str()));
    return;
  }
  if (!body.is_map()) {
    key.fault("a table is a map: {oid: ..., index: ..., columns: ...}");
    return;
  }
  body.only({"oid", "index", "status", "most", "edit", "traits", "note", "columns"});
  Table& table = draft.model->tables[name];
  TableDraft& table_draft = draft.tables[name];
  table.name = name;
  table_draft.key = key;
  if (fresh) table_draft.order = ++draft.defined;
  if (const Entry oid = body.at("oid"); !fresh && oid) {
    oid.fault(name + " keeps the object identifier of the model that this one is based on; leave `oid:` out");
  }
  if (fresh) {
    table.oid = read_oid_below(body.need("oid"), draft.root);
    if (!table.oid.empty()) table.entry = table.oid.child(1);
    table_draft.index = body.need("index");
    body.need("columns");
  }
  read_table_fields(body, table, table_draft);
  for (const auto& [column, fields] : body.at("columns").pairs("a map of columns")) {
    read_column(column, fields, table, draft);
  }
}

/// The root of a model is that of the standard; a file that builds on one may keep its own objects
/// under another.
void read_root(const Entry& file, Draft& draft) {
  const bool builds = static_cast<bool>(file.at("based-on"));
  const Entry entry = builds ? file.at("root") : file.need("root");
  if (!entry) return;
  const std::string text = entry.text("the object identifier of the root");
  if (!entry.is_text()) return;
  const auto root = smi::Oid::parse(text);
  if (root) {
    draft.root = *root;
    if (!builds) draft.model->root = *root;
  } else {
    entry.fault(fmt::format("\"{}\" is no object identifier: {}", text, root.problem()));
  }
}

}  // namespace

void read_file(const Entry& file, Draft& draft) {
  file.only({"model", "title", "source", "based-on", "root", "recognise", "mode", "identity", "scalars",
             "tables", "notifications"});
  if (const Entry source = file.at("source")) source.text("the source of the list");
  read_root(file, draft);
  if (const Entry recognise = file.at("recognise")) draft.recognise = recognise;
  if (const Entry mode = file.at("mode")) draft.mode = mode;
  const Entry identity = file.at("identity");
  identity.only({"unit-id", "latitude", "longitude", "sentence"});
  for (const auto& [key, name] : identity.pairs("a map of objects"))
    draft.identity[key.text("a name")] = name;
  for (const auto& [key, body] : file.at("scalars").pairs("a map of objects")) read_scalar(key, body, draft);
  for (const auto& [key, body] : file.at("tables").pairs("a map of tables")) read_table(key, body, draft);
  read_notifications(file.at("notifications"), draft);
}

}  // namespace vergeset::schema