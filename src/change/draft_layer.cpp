#include "change/draft_layer.h"

#include <fmt/format.h>

#include <algorithm>
#include <regex>

#include "records/yaml_text.h"

namespace vergeset::change {

namespace {

constexpr std::size_t widest = 110;

/// Numbers, with a unit of measure or not, times and single words: plain to every YAML reader, or of no
/// matter to which type it takes them, since values are read as they are written.
bool plain_value(const std::string& text) {
  static const std::regex plain(
      "-?[0-9][0-9.]{0,20}( [A-Za-z][A-Za-z]{0,12}| %)?|0x[0-9a-f]{1,16}|[A-Za-z][A-Za-z0-9]{0,40}|"
      "[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9:]{5,8}Z");
  return text.size() < 60 && text != "null" && text != "Null" && text != "NULL" &&
         std::regex_match(text, plain);
}

std::string value_text(const Say& say) {
  if (say.kind != Say::Kind::text) return fmt::format("{{file: {}}}", records::scalar(say.text));
  return say.prose ? records::scalar(say.text) : drafted_scalar(say.text);
}

std::vector<std::pair<std::string, std::string>> parts_of(const DraftedRow& row) {
  std::vector<std::pair<std::string, std::string>> parts;
  if (!row.match.empty()) parts.emplace_back("match", fmt::format("[{}]", fmt::join(row.match, ", ")));
  if (row.index) parts.emplace_back("index", std::to_string(*row.index));
  if (row.present) parts.emplace_back("present", *row.present ? "yes" : "no");
  for (const DraftedValue& column : row.columns) parts.emplace_back(column.name, value_text(column.say));
  return parts;
}

std::string row_text(const DraftedRow& row, const std::string& blanks) {
  constexpr std::size_t few = 3;
  const auto parts = parts_of(row);
  std::string line = fmt::format("{}{}: {{", blanks, drafted_scalar(row.label));
  for (const auto& [name, text] : parts)
    line += fmt::format("{}{}: {}", line.back() == '{' ? "" : ", ", name, text);
  line += "}\n";
  if (parts.size() <= few && line.size() <= widest) return line;
  std::string lines = fmt::format("{}{}:\n", blanks, drafted_scalar(row.label));
  for (const auto& [name, text] : parts) lines += fmt::format("{}  {}: {}\n", blanks, name, text);
  return lines;
}

void add_traits(const DraftedBlock& block, const std::vector<fleet::TraitAsk>* kept,
                const std::string& blanks, std::string& out) {
  std::map<std::string, std::map<std::string, bool>> traits;
  if (kept != nullptr) {
    for (const fleet::TraitAsk& trait : *kept) traits[trait.target][trait.trait] = trait.on;
  }
  for (const std::string& object : block.not_compared) traits[object]["ignored"] = true;
  if (!traits.empty()) out += blanks + "traits:\n";
  for (const auto& [target, kinds] : traits) {
    std::string line;
    for (const auto& [trait, on] : kinds)
      line += fmt::format("{}{}: {}", line.empty() ? "" : ", ", trait, on ? "yes" : "no");
    out += fmt::format(
        "{}  {}: {{{}}}{}\n", blanks, target, line,
        block.not_compared.contains(target) ? "  # no file can ask for what it was found with" : "");
  }
}

std::string block_text(const DraftedBlock& block, const std::vector<fleet::TraitAsk>* kept,
                       const std::string& blanks) {
  std::string out;
  if (!block.settings.empty()) out += blanks + "settings:\n";
  for (const DraftedValue& setting : block.settings)
    out += fmt::format("{}  {}: {}\n", blanks, setting.name, value_text(setting.say));
  if (!block.tables.empty()) out += blanks + "tables:\n";
  for (const auto& [table, rows] : block.tables) {
    out += fmt::format("{}  {}:\n{}    rows:\n", blanks, table, blanks);
    for (const DraftedRow& row : rows) out += row_text(row, blanks + "      ");
  }
  add_traits(block, kept, blanks, out);
  return out;
}

}  // namespace

DraftedRow& DraftedBlock::row(const std::string& table, const std::string& label) {
  auto at = std::find_if(tables.begin(), tables.end(), [&](const auto& one) { return one.first == table; });
  if (at == tables.end()) at = tables.insert(tables.end(), {table, {}});
  const auto row = std::find_if(at->second.begin(), at->second.end(),
                                [&](const DraftedRow& one) { return one.label == label; });
  if (row != at->second.end()) return *row;
  at->second.push_back({label, {}, {}, {}, {}});
  return at->second.back();
}

bool DraftedLayer::empty() const {
  return plain.empty() &&
         std::all_of(only.begin(), only.end(), [](const auto& block) { return block.second.empty(); });
}

std::string to_yaml(const DraftedLayer& layer, int indent, const fleet::Layer* kept) {
  const std::string blanks(static_cast<std::size_t>(indent), ' ');
  std::string out = block_text(layer.plain, kept == nullptr ? nullptr : &kept->plain.traits, blanks);
  static const DraftedBlock none;
  std::set<std::string> models;
  for (const auto& [model, block] : layer.only) models.insert(model);
  if (kept != nullptr) {
    for (const fleet::Layer::Only& only : kept->only) models.insert(only.model);
  }
  std::string all;
  for (const std::string& model : models) {
    const auto drafted = layer.only.find(model);
    const fleet::Block* const own = kept == nullptr ? nullptr : kept->only_for(model);
    const std::string text = block_text(drafted == layer.only.end() ? none : drafted->second,
                                        own == nullptr ? nullptr : &own->traits, blanks + "    ");
    if (!text.empty()) all += fmt::format("{}  {}:\n{}", blanks, model, text);
  }
  return all.empty() ? out : fmt::format("{}{}only:\n{}", out, blanks, all);
}

std::string drafted_scalar(const std::string& text) {
  return plain_value(text) ? text : records::scalar(text);
}

}  // namespace vergeset::change
