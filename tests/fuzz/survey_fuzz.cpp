// A kept survey.
//
// About: src/records/survey_record.cpp src/records/snapshot.cpp src/records/yaml_text.cpp

#include "fuzz/fuzz.h"
#include "records/survey_record.h"

using namespace vergeset;

FUZZ_TARGET(survey) {
  const auto survey = records::survey_from_yaml(std::string(input));
  if (!survey) return fuzz::must_explain(survey.problem());
  const std::string text = records::to_yaml(*survey);
  const auto again = records::survey_from_yaml(text);
  fuzz::must(again && *again == *survey, "a survey reads back the same", text);
}
