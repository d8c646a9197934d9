// change.yaml.
//
// About: src/records/change_record.cpp src/records/yaml_text.cpp

#include "fuzz/fuzz.h"
#include "records/change_record.h"

using namespace vergeset;

FUZZ_TARGET(change) {
  const auto change = records::change_from_yaml(std::string(input));
  if (!change) return fuzz::must_explain(change.problem());
  const std::string text = records::to_yaml(*change);
  const auto again = records::change_from_yaml(text);
  fuzz::must(again && records::to_yaml(*again) == text, "a change reads back the same", text);
}
