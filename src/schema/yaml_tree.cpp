#include "schema/yaml_tree.h"

#include <sstream>

namespace vergeset::schema {

void YamlTree::parse(const std::string& text) {
  std::istringstream stream(text);
  YAML::Parser parser(stream);
  while (parser.HandleNextDocument(*this)) documents_.push_back(root_);
}

void YamlTree::OnDocumentStart(const YAML::Mark& mark) {
  // yaml-cpp never gets past a comma in front of a document: it finds an empty one before it, again and
  // again.
  const bool stands_still = root_ != nullptr && root_->kind == YamlValue::Kind::nothing &&
                            root_->mark.pos == mark.pos && mark.pos >= 0;
  if (stands_still) throw YAML::ParserException(mark, "illegal flow entry");
  root_ = nullptr;
  anchored_.clear();
}

void YamlTree::OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) {
  put(add(YamlValue::Kind::nothing, mark, anchor));
}

void YamlTree::OnAlias(const YAML::Mark&, YAML::anchor_t anchor) {
  put(*anchored_.at(anchor - 1));
}

void YamlTree::OnScalar(const YAML::Mark& mark, const std::string&, YAML::anchor_t anchor,
                        const std::string& value) {
  YamlValue& text = add(YamlValue::Kind::text, mark, anchor);
  text.text = value;
  put(text);
}

void YamlTree::OnSequenceStart(const YAML::Mark& mark, const std::string&, YAML::anchor_t anchor,
                               YAML::EmitterStyle::value) {
  open_.push_back(&add(YamlValue::Kind::list, mark, anchor));
}

void YamlTree::OnSequenceEnd() {
  end();
}

void YamlTree::OnMapStart(const YAML::Mark& mark, const std::string&, YAML::anchor_t anchor,
                          YAML::EmitterStyle::value) {
  open_.push_back(&add(YamlValue::Kind::map, mark, anchor));
}

void YamlTree::OnMapEnd() {
  end();
}

YamlValue& YamlTree::add(YamlValue::Kind kind, const YAML::Mark& mark, YAML::anchor_t anchor) {
  YamlValue& value = values_.emplace_back();
  value.kind = kind;
  value.mark = mark;
  if (anchor != YAML::NullAnchor) anchored_.push_back(&value);
  return value;
}

/// Puts a value that has ended into the list or map around it.
void YamlTree::put(const YamlValue& value) {
  if (open_.empty()) {
    root_ = &value;
  } else {
    open_.back()->parts.push_back(&value);
  }
}

void YamlTree::end() {
  YamlValue& value = *open_.back();
  open_.pop_back();
  value.parts.shrink_to_fit();
  put(value);
}

}  // namespace vergeset::schema
