#include "report/missing_text.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "report/words.h"
#include "report/wrap.h"

namespace vergeset::report {

namespace {

constexpr std::size_t few = 12;

std::string line(const Missing& missing) {
  const std::string count = counted(missing.units.size(), "unit");
  const std::string what = missing.audited ? fmt::format("the audit of part {} lacks {}", missing.part, count)
                                           : fmt::format("part {} is missing, with {}", missing.part, count);
  return missing.units.size() > few ? what : fmt::format("{}: {}", what, fmt::join(missing.units, ", "));
}

}  // namespace

std::string missing_text(const Screen& screen, const std::vector<Missing>& missing) {
  std::string out;
  for (const Missing& one : missing) out += paragraph(screen, line(one), 0);
  return out;
}

Json missing_json(const std::vector<Missing>& missing) {
  Json out = Json::array();
  for (const Missing& one : missing) {
    out.push_back({{"part", one.part}, {"audited", one.audited}, {"units", one.units}});
  }
  return out;
}

}  // namespace vergeset::report
