#include "change/draft.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "change/draft_choose.h"
#include "fleet/meaning.h"
#include "smi/form.h"

namespace vergeset::change {

namespace {

/// Names the files that octets go into: the same octets once, those of one unit after the unit.
class OctetFiles {
 public:
  explicit OctetFiles(std::string folder) : folder_(std::move(folder)) {}

  /// A name for all files of one slot, under which each unit can have one.
  std::string base(const std::string& wanted, const Slot& slot) {
    for (int number = 1;; ++number) {
      std::string base = number == 1 ? wanted : fmt::format("{}-{}", wanted, number);
      const bool free =
          bases_.insert(base).second &&
          std::none_of(slot.members.begin(), slot.members.end(), [&](const Slot::Member& member) {
            return files.contains(path(member.of->name + "-" + base));
          });
      if (free) return base;
    }
  }

  std::string of(const std::string& octets, const std::string& name) {
    const auto known = by_octets_.find(octets);
    if (known != by_octets_.end()) return known->second;
    std::string at = path(name);
    for (int number = 2; files.contains(at); ++number) at = path(fmt::format("{}-{}", name, number));
    put(at, octets);
    return at;
  }

  void put(const std::string& at, const std::string& octets) {
    files[at] = octets;
    by_octets_.emplace(octets, at);
  }

  std::string path(const std::string& name) const { return fmt::format("{}/{}.hex", folder_, name); }

  std::map<std::string, std::string> files;

 private:
  std::string folder_;
  std::set<std::string> bases_;
  std::map<std::string, std::string> by_octets_;
};

/// Where the values of one slot go: a setting, or a column of a row.
struct Where {
  std::string model;  ///< of the block in the group; empty: for all
  std::string table{};
  std::string label{};
};

class Drafting {
 public:
  Drafting(const schema::Schema& schema, const std::vector<ToDescribe>& units, const std::string& group)
      : schema_(schema), units_(units), group_(group), files_("payloads/" + group) {
    out_.units.resize(units.size());
    for (const ToDescribe& one : units) models_.insert(one.unit->model);
  }

  Draft take() {
    DraftedLayer for_all;
    scalars(for_all);
    rows(for_all);
    if (!for_all.empty() || shared_.empty()) join(group_, std::move(for_all), everyone());
    for (auto& [members, layer] : shared_) {
      const std::string name = name_of_rows(layer);
      join(name, std::move(layer), members);
    }
    count_no_settings();
    out_.files = std::move(files_.files);
    return std::move(out_);
  }

 private:
  using Members = std::set<std::size_t>;

  Members everyone() const {
    Members all;
    for (std::size_t i = 0; i < units_.size(); ++i) all.insert(i);
    return all;
  }

  void join(const std::string& name, DraftedLayer layer, const Members& members) {
    out_.groups.emplace(name, std::move(layer));
    for (const std::size_t unit : members) out_.units[unit].groups.push_back(name);
  }

  /// After a row of it, so that a person sees what its units have in common: rather one that says its kind
  /// of message.
  std::string name_of_rows(const DraftedLayer& layer) const {
    const DraftedBlock& block = layer.plain.tables.empty() ? layer.only.begin()->second : layer.plain;
    std::string label = block.tables.front().second.front().label;
    const auto plain = [](const std::string& one) {
      return one.rfind("psid-", 0) == 0 || one.rfind("row-", 0) == 0;
    };
    for (auto table = block.tables.rbegin(); table != block.tables.rend(); ++table) {
      for (const DraftedRow& row : table->second) {
        if (!plain(row.label)) label = row.label;
      }
    }
    for (char& c : label) {
      const bool fits =
          (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-';
      if (!fits) c = '_';
    }
    const std::string first = fmt::format("{}-{}", group_, label);
    std::string name = first;
    for (int number = 2; out_.groups.contains(name); ++number) name = fmt::format("{}-{}", first, number);
    return name;
  }

  struct ScalarSlot {
    std::string model;
    smi::Oid oid;
    std::vector<std::size_t> units;
    std::vector<Cell> cells;
  };

  bool on_all_models(const schema::CommonSetting& common,
                     const std::set<const schema::Model*>& models) const {
    return std::all_of(models.begin(), models.end(), [&](const schema::Model* model) {
      return fleet::mapping_on(common, *model) != nullptr;
    });
  }

  /// Units of a model, or all.
  std::size_t units_of(const std::string& model) const {
    return static_cast<std::size_t>(std::count_if(units_.begin(), units_.end(), [&](const ToDescribe& one) {
      return model.empty() || one.unit->model->name == model;
    }));
  }

  static bool all_say(const Slot& slot, std::size_t units) {
    return slot.members.size() == units &&
           std::all_of(slot.members.begin(), slot.members.end(),
                       [](const Slot::Member& member) { return member.cell->state == Cell::State::said; });
  }

  void scalars(DraftedLayer& for_all) {
    std::map<std::string, ScalarSlot> slots;
    for (std::size_t unit = 0; unit < units_.size(); ++unit) {
      for (const auto& [name, object] : units_[unit].unit->model->objects) {
        if (object.table == nullptr && object.configuration()) scalar(unit, object, slots);
      }
    }
    std::vector<const ScalarSlot*> in_order;
    for (const auto& [key, slot] : slots) in_order.push_back(&slot);
    std::stable_sort(in_order.begin(), in_order.end(),
                     [](const ScalarSlot* a, const ScalarSlot* b) { return a->oid < b->oid; });
    for (const ScalarSlot* one : in_order) {
      Slot slot;
      slot.plain = one->model.empty();
      for (std::size_t i = 0; i < one->cells.size(); ++i) {
        slot.members.push_back({one->units[i], units_[one->units[i]].unit, &one->cells[i]});
      }
      slot.whole = all_say(slot, units_of(one->model));
      say(choose(slot), slot, {one->model}, one->cells.front().name, for_all);
    }
  }

  void scalar(std::size_t unit, const schema::Object& object, std::map<std::string, ScalarSlot>& slots) {
    const ToDescribe& of = units_[unit];
    const smi::Value& value = of.found->at(object.oid.child(0));
    if (value.absent() || of.unit->desired.traits_of(object).ignored) return;
    fleet::Meaning meaning;
    const std::string name = name_in_files(schema_, *of.unit->model, object, meaning);
    const bool plain = meaning.common != nullptr && on_all_models(*meaning.common, models_);
    ScalarSlot& slot = slots[(plain ? "" : of.unit->model->name + "/") + name];
    if (slot.cells.empty()) {
      slot.model = plain ? "" : of.unit->model->name;
      slot.oid = object.oid;
    }
    slot.units.push_back(unit);
    slot.cells.push_back(cell_of(*of.unit, name, meaning, value));
    for (const fleet::DesiredValue& asked : of.unit->desired.values) {
      if (asked.object == &object) slot.cells.back().base = &asked;
    }
    tell_stuck(unit, slot.cells.back(), "");
  }

  void tell_stuck(std::size_t unit, const Cell& cell, const std::string& row) {
    ++out_.values;
    if (cell.state != Cell::State::stuck) return;
    const schema::Object& object = *cell.meaning.object;
    const auto breach = cell.value.absent() ? std::nullopt : smi::violation(object.syntax, cell.value);
    std::string why = breach                ? *breach
                      : cell.value.absent() ? "this row has none, though others have"
                      : smi::of_kind(object.syntax, cell.value)
                          ? "no file can say " + smi::to_text(object.syntax, cell.value)
                          : "is answered as another type than its model has";
    if (cell.name == "message" && !breach) why = "the row says another kind of message than its payload is";
    out_.left_out.push_back({units_[unit].unit->name, row + cell.name, why});
  }

  /// A path for what is said by octets.
  Say filed(Say say, const std::string& name, const std::string& base) {
    if (say.kind == Say::Kind::file) say.text = files_.of(say.octets, name);
    if (say.kind == Say::Kind::own_file) say.text = files_.path("{unit}-" + base);
    return say;
  }

  void say(const Chosen& chosen, const Slot& slot, const Where& where, const std::string& name,
           DraftedLayer& shared) {
    const bool is_payload = name == "payload" || where.label.empty();
    const std::string wanted = where.label.empty() ? name
                               : is_payload        ? where.label
                                                   : where.label + "-" + name;
    const bool any_file =
        std::any_of(slot.members.begin(), slot.members.end(), [](const Slot::Member& member) {
          return !member.cell->ways.empty() && member.cell->ways.front().kind == Say::Kind::file;
        });
    const std::string base = any_file ? files_.base(wanted, slot) : wanted;
    if (any_file) own_files(chosen, slot, base);
    if (chosen.all) put(shared.block(where.model), where, {name, filed(*chosen.all, base, base)}, true);
    for (const auto& [model, only] : chosen.only) {
      put(shared.only[model], where, {name, filed(only, base, base)}, true);
    }
    for (const auto& [unit, own] : chosen.own) {
      put(out_.units[unit].layer.plain, where,
          {name, filed(own, fmt::format("{}-{}", units_[unit].unit->name, base), base)}, false);
    }
    for (const Slot::Member& member : slot.members) {
      if (!chosen.not_to_compare.contains(member.unit)) continue;
      out_.units[member.unit].layer.plain.not_compared.insert(member.cell->meaning.object->name);
    }
  }

  /// The files that {unit} in a shared name leads to.
  void own_files(const Chosen& chosen, const Slot& slot, const std::string& base) {
    for (const Slot::Member& member : slot.members) {
      const auto only = chosen.only.find(member.of->model->name);
      const Say* const said = only != chosen.only.end() ? &only->second : chosen.all ? &*chosen.all : nullptr;
      const bool named = said != nullptr && said->kind == Say::Kind::own_file;
      if (!named || member.cell->state != Cell::State::said || chosen.own.contains(member.unit)) continue;
      files_.put(files_.path(member.of->name + "-" + base), member.cell->ways.front().octets);
    }
  }

  void put(DraftedBlock& block, const Where& where, DraftedValue value, bool shared) {
    ++(shared ? out_.in_groups : out_.in_units);
    if (where.label.empty()) {
      block.settings.push_back(std::move(value));
    } else {
      block.row(where.table, where.label).columns.push_back(std::move(value));
    }
  }

  void rows(DraftedLayer& for_all) {
    RowsOfUnits found = rows_of_units(schema_, units_);
    for (const IdleRow& row : found.idle) {
      out_.left_out.push_back(
          {units_[row.unit].unit->name, fmt::format("{} row {}", row.table, row.index), "is not active"});
    }
    for (AlikeRows& alike : found.alike) {
      for (const AlikeRows& part : parts_of(std::move(alike), 0)) one_row(part, for_all);
    }
  }

  struct Column {
    std::string name;
    std::string model;  ///< the only one of these rows that has it; empty: all have it
    Slot slot;
  };

  void one_row(const AlikeRows& alike, DraftedLayer& for_all) {
    out_.rows += alike.rows.size();
    for (const std::size_t unit : alike.without)
      out_.units[unit].layer.plain.row(alike.table, alike.label).present = false;
    if (alike.rows.empty()) return;
    Members members;
    for (const RowFound& row : alike.rows) {
      members.insert(row.unit);
      for (const Cell& cell : row.columns)
        tell_stuck(row.unit, cell, fmt::format("{} row {} ", alike.table, row.index));
      if (alike.at_odds) out_.units[row.unit].layer.plain.row(alike.table, alike.label).present = true;
    }
    const bool lifted = alike.rows.size() > 1 && lines_shared(alike) < lines_apart(alike);
    const std::string model = lifted ? model_of(members) : "";
    DraftedLayer nowhere;
    DraftedLayer& shared = !lifted ? nowhere : is_for_all(members) ? for_all : shared_[members];
    for (const std::size_t unit : members) {
      if (!alike.stays && !lifted) find_by(alike, out_.units[unit].layer.plain);
    }
    if (!alike.stays && lifted) find_by(alike, shared.block(model.empty() ? alike.model : model));
    for (Column& column : columns_of(alike)) {
      column.slot.lifted = lifted;
      column.slot.rather_shared = lifted;
      const std::string& in = model.empty() ? column.model : model;
      column.slot.plain = column.slot.plain || !in.empty();
      say(choose(column.slot), column.slot, {in, alike.table, alike.label}, column.name, shared);
    }
    if (lifted && shared.empty() && !is_for_all(members)) shared_.erase(members);
  }

  std::set<const schema::Model*> models_of(const Members& members) const {
    std::set<const schema::Model*> models;
    for (const std::size_t unit : members) models.insert(units_[unit].unit->model);
    return models;
  }

  /// All units, or all of one model: what they share stands in the group for all.
  bool is_for_all(const Members& members) const {
    return members.size() == units_.size() || !model_of(members).empty();
  }

  /// The model whose units these are and no others, where there are units of others.
  std::string model_of(const Members& members) const {
    const auto models = models_of(members);
    const auto of_it =
        static_cast<std::size_t>(std::count_if(units_.begin(), units_.end(), [&](const ToDescribe& one) {
          return one.unit->model == *models.begin();
        }));
    const bool all_of_one = models.size() == 1 && members.size() == of_it && of_it < units_.size();
    return all_of_one ? (*models.begin())->name : "";
  }

  /// Rows that are found alike and set otherwise, such as messages of one kind for schools and for bends, in
  /// as many parts as make the files shortest.
  std::vector<AlikeRows> parts_of(AlikeRows alike, int depth) {
    constexpr int deepest = 4;
    constexpr std::size_t few = 4;
    if (alike.stays || alike.rows.size() < few || depth == deepest) return {std::move(alike)};
    std::size_t least = std::min(lines_shared(alike), lines_apart(alike));
    std::vector<AlikeRows> best;
    std::set<std::string> names;
    for (const RowFound& row : alike.rows) {
      for (const Cell& cell : row.columns) names.insert(cell.name);
    }
    for (const std::string& name : names) {
      std::vector<AlikeRows> parts = parted_by(alike, name);
      if (parts.size() < 2 || parts.size() > alike.rows.size() / 2) continue;
      std::size_t lines = 0;
      for (const AlikeRows& part : parts) lines += std::min(lines_shared(part), lines_apart(part));
      if (lines >= least) continue;
      least = lines;
      best = std::move(parts);
    }
    if (best.empty()) return {std::move(alike)};
    std::vector<AlikeRows> all;
    for (AlikeRows& part : best) {
      for (AlikeRows& smaller : parts_of(std::move(part), depth + 1)) all.push_back(std::move(smaller));
    }
    return all;
  }

  static std::vector<AlikeRows> parted_by(const AlikeRows& alike, const std::string& name) {
    std::map<Say, AlikeRows> parts;
    for (const RowFound& row : alike.rows) {
      const auto cell = std::find_if(row.columns.begin(), row.columns.end(),
                                     [&](const Cell& one) { return one.name == name; });
      const bool said = cell != row.columns.end() && cell->state == Cell::State::said;
      AlikeRows& part = parts[said ? cell->ways.front() : Say{}];
      if (part.rows.empty()) {
        part = AlikeRows{alike.table, alike.model, alike.label, alike.any, false,
                         false,       alike.match, alike.index, {},        {}};
      }
      part.rows.push_back(row);
    }
    std::vector<AlikeRows> out;
    for (auto& [say, part] : parts) out.push_back(std::move(part));
    return out;
  }

  static void find_by(const AlikeRows& alike, DraftedBlock& block) {
    DraftedRow& row = block.row(alike.table, alike.label);
    row.match = alike.match;
    if (alike.match.empty()) row.index = alike.index;
  }

  /// In lines, with what a file of its own costs.
  std::size_t lines_shared(const AlikeRows& alike) const {
    constexpr std::size_t file = 6;
    constexpr std::size_t row = 2;
    std::size_t lines = file + row;
    std::set<std::size_t> with_own;
    for (Column& column : columns_of(alike)) {
      column.slot.rather_shared = true;
      const Chosen chosen = choose(column.slot);
      lines += chosen.lines();
      for (const auto& [unit, own] : chosen.own) with_own.insert(unit);
    }
    return lines + row * with_own.size();
  }

  std::size_t lines_apart(const AlikeRows& alike) const {
    constexpr std::size_t row = 3;
    std::size_t lines = row * alike.rows.size();
    for (Column& column : columns_of(alike)) {
      column.slot.lifted = false;
      lines += choose(column.slot).lines();
    }
    return lines;
  }

  std::vector<Column> columns_of(const AlikeRows& alike) const {
    std::set<const schema::Model*> models;
    for (const RowFound& row : alike.rows) models.insert(units_[row.unit].unit->model);
    std::vector<Column> columns;
    for (const RowFound& row : alike.rows) {
      const fleet::Unit& unit = *units_[row.unit].unit;
      for (const Cell& cell : row.columns) {
        const bool needed = !cell.meaning.from_payload() || picks(alike, cell.name);
        if (!needed) continue;
        const bool plain = cell.meaning.common != nullptr && on_all_models(*cell.meaning.common, models);
        // What tells rows apart must stand where all of them look for it.
        const std::string model = plain || picks(alike, cell.name) ? "" : unit.model->name;
        auto column = std::find_if(columns.begin(), columns.end(), [&](const Column& one) {
          return one.name == cell.name && one.model == model;
        });
        if (column == columns.end())
          column = columns.insert(columns.end(), {cell.name, model, Slot{{}, model.empty()}});
        column->slot.members.push_back({row.unit, &unit, &cell});
      }
    }
    for (Column& column : columns) {
      const auto readers = std::count_if(alike.rows.begin(), alike.rows.end(), [&](const RowFound& row) {
        return column.model.empty() || units_[row.unit].unit->model->name == column.model;
      });
      column.slot.whole = all_say(column.slot, static_cast<std::size_t>(readers));
    }
    return columns;
  }

  static bool picks(const AlikeRows& alike, const std::string& column) {
    return std::find(alike.match.begin(), alike.match.end(), column) != alike.match.end();
  }

  void count_no_settings() {
    std::set<const schema::Object*> read_only;
    std::set<const schema::Object*> actions;
    std::set<const schema::Object*> running;
    for (const ToDescribe& one : units_) {
      for (const auto& [instance, value] : one.found->instances) {
        if (value.absent()) continue;
        const schema::Object* const object = one.unit->model->object_at(instance);
        if (object == nullptr) {
          ++out_.no_settings.unknown;
        } else if (!object->settable()) {
          read_only.insert(object);
        } else if (object->traits.action) {
          actions.insert(object);
        } else if (object->traits.running) {
          running.insert(object);
        }
      }
    }
    out_.no_settings.read_only = read_only.size();
    out_.no_settings.actions = actions.size();
    out_.no_settings.running = running.size();
  }

  const schema::Schema& schema_;
  const std::vector<ToDescribe>& units_;
  const std::string& group_;
  OctetFiles files_;
  std::set<const schema::Model*> models_;
  std::map<Members, DraftedLayer> shared_;  ///< rows that some units have, by which
  Draft out_;
};

}  // namespace

Draft draft(const schema::Schema& schema, const std::vector<ToDescribe>& units, const std::string& group) {
  return Drafting(schema, units, group).take();
}

}  // namespace vergeset::change
