#pragma once

#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/yaml.h>

#include <deque>
#include <string>
#include <vector>

namespace vergeset::schema {

/// A value of a YAML file: what it is and where it stands. An alias is the value that it names.
struct YamlValue {
  enum class Kind { nothing, text, list, map };
  Kind kind = Kind::nothing;
  YAML::Mark mark = YAML::Mark::null_mark();
  std::string text;
  std::vector<const YamlValue*> parts;  ///< members of a list; each key of a map and, behind it, its value

  bool is_map() const { return kind == Kind::map; }
  bool is_list() const { return kind == Kind::list; }
  bool is_text() const { return kind == Kind::text; }
};

/// The values of a file's documents. yaml-cpp's own nodes are made to be changed, and take four times the
/// room and twice the time: a list of ten thousand units has half a million values.
class YamlTree : private YAML::EventHandler {
 public:
  YamlTree() = default;
  YamlTree(const YamlTree&) = delete;
  YamlTree& operator=(const YamlTree&) = delete;

  /// Reads all documents. Throws YAML::Exception where the text is no YAML.
  void parse(const std::string& text);

  /// The outermost value of each document.
  const std::vector<const YamlValue*>& documents() const { return documents_; }

 private:
  void OnDocumentStart(const YAML::Mark&) override;
  void OnDocumentEnd() override {}
  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override;
  void OnAlias(const YAML::Mark&, YAML::anchor_t anchor) override;
  void OnScalar(const YAML::Mark& mark, const std::string&, YAML::anchor_t anchor,
                const std::string& value) override;
  void OnSequenceStart(const YAML::Mark& mark, const std::string&, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override;
  void OnSequenceEnd() override;
  void OnMapStart(const YAML::Mark& mark, const std::string&, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override;
  void OnMapEnd() override;

  YamlValue& add(YamlValue::Kind kind, const YAML::Mark& mark, YAML::anchor_t anchor);
  void put(const YamlValue& value);
  void end();

  std::deque<YamlValue> values_;
  std::vector<const YamlValue*> documents_;
  std::vector<YamlValue*> open_;            ///< lists and maps that have not ended, the innermost last
  std::vector<const YamlValue*> anchored_;  ///< of this document; yaml-cpp counts anchors from 1
  const YamlValue* root_ = nullptr;
};

}  // namespace vergeset::schema
