#pragma once

#include <string>
#include <vector>

#include "change/audit.h"
#include "report/screen.h"

namespace vergeset::report {

/// How much of a unit was read.
struct SurveyCount {
  std::size_t objects = 0;  ///< scalars and columns that the unit offers
  std::size_t rows = 0;
  std::size_t absent = 0;  ///< instances that were asked for and are not there
};
SurveyCount count(const schema::Model& model, const change::AsFound& found);

/// A line a unit, then the counts.
std::string survey_text(const Screen& screen, const std::vector<change::Audited>& units);

}  // namespace vergeset::report
