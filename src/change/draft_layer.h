#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "change/draft_say.h"
#include "fleet/layer.h"

namespace vergeset::change {

/// A value in a file that is drafted. A way that is a file has its path in `text`.
struct DraftedValue {
  std::string name;
  Say say;
};

struct DraftedRow {
  std::string label;
  std::vector<std::string> match;
  std::optional<std::uint32_t> index;
  std::optional<bool> present;
  std::vector<DraftedValue> columns;

  bool empty() const { return match.empty() && !index && !present && columns.empty(); }
};

struct DraftedBlock {
  std::vector<DraftedValue> settings;
  std::vector<std::pair<std::string, std::vector<DraftedRow>>> tables;
  std::set<std::string> not_compared;  ///< objects whose trait `ignored` is to be set

  bool empty() const { return settings.empty() && tables.empty() && not_compared.empty(); }
  DraftedRow& row(const std::string& table, const std::string& label);
};

/// What a drafted file asks for: that of a group, or of a unit's entry.
struct DraftedLayer {
  DraftedBlock plain;
  std::map<std::string, DraftedBlock> only;  ///< by model

  bool empty() const;
  DraftedBlock& block(const std::string& model) { return model.empty() ? plain : only[model]; }
};

/// Its lines in YAML, each behind `indent` blanks. `kept` has traits that stay (those alone are taken of it).
std::string to_yaml(const DraftedLayer& layer, int indent, const fleet::Layer* kept = nullptr);

/// A text as a YAML scalar, in quotes where it needs them.
std::string drafted_scalar(const std::string& text);

}  // namespace vergeset::change
