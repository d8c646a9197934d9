#pragma once

#include <map>
#include <string>
#include <utility>

#include "schema/model.h"
#include "schema/yaml.h"

namespace vergeset::schema {

/// Reads common.yaml: names that mean the same on every model. A second file, a fleet's own, may
/// bring new names and map known ones to its own models.
class CommonReader {
 public:
  explicit CommonReader(Schema& schema) : schema_(schema) {}

  void read(const Entry& file);

  /// What `base` has under a common name, `model`, which is based on it, has too, unless mapped
  /// otherwise. Called after each file, bases first.
  void inherit(const Model& base, const Model& model);

 private:
  void read_setting(const Entry& key, const Entry& body);
  void read_table(const Entry& key, const Entry& body);
  void read_column(const Entry& key, const Entry& body, CommonTable& table);
  void read_table_on(const Entry& on, CommonTable& table);
  void read_on(const Entry& on, CommonSetting& setting, const CommonTable* table);
  void map_one(const Entry& entry, const Model& model, CommonSetting& setting, const CommonTable* table);
  bool fits(const Entry& entry, const Model& model, const Mapping& mapping, const CommonSetting& setting,
            const CommonTable* table);
  const Model* model_of(const Entry& key) const;

  Schema& schema_;
  /// Which common name an object has on a model, so that none has two.
  std::map<std::pair<const Model*, const Object*>, std::string> taken_;
};

/// Tells every object and table its common name, and the words for its numbers where they are the common
/// setting's: a survey then shows MAP, not 18. Called when all common settings stand.
void name_objects(Schema& schema);

}  // namespace vergeset::schema
