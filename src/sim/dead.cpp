#include "sim/dead.h"

#include <fmt/format.h>
#include <fnmatch.h>

#include <charconv>
#include <cmath>
#include <sstream>

#include "smi/suggest.h"

namespace vergeset::sim {

namespace {

using Names = std::vector<std::string>;

std::set<std::string> evenly(std::size_t count, const Names& served) {
  std::set<std::string> chosen;
  for (std::size_t i = 0; i < served.size(); ++i)
    if ((i + 1) * count / served.size() > i * count / served.size()) chosen.insert(served[i]);
  return chosen;
}

Result<std::set<std::string>> so_many(double number, bool percent, const std::string& text,
                                      const Names& served) {
  if (percent && number > 100) return Problem{fmt::format("{}: a share is 100% at most", text)};
  const double all = static_cast<double>(served.size());
  if (!percent && number > all)
    return Problem{
        fmt::format("{}: {} unit{} served", text, served.size(), served.size() == 1 ? " is" : "s are")};
  return evenly(static_cast<std::size_t>(std::llround(percent ? number * all / 100 : number)), served);
}

Result<std::set<std::string>> by_name(const std::string& text, const Names& served) {
  std::set<std::string> chosen;
  for (const std::string& pattern : comma_parts(text)) {
    bool fits_any = false;
    for (const std::string& name : served) {
      if (!fits_pattern(pattern, name)) continue;
      fits_any = true;
      chosen.insert(name);
    }
    if (!fits_any)
      return Problem{
          fmt::format("no unit that is served is called {}{}", pattern, smi::suggestion(pattern, served))};
  }
  return chosen;
}

}  // namespace

Result<std::set<std::string>> dead_units(const std::string& text, const Names& served) {
  double number = 0;
  const char* const last = text.data() + text.size();
  const auto [end, error] = std::from_chars(text.data(), last, number, std::chars_format::fixed);
  const std::string_view behind(end, static_cast<std::size_t>(last - end));
  const bool count = behind.empty() && text.find('.') == std::string::npos;
  if (error == std::errc() && number >= 0 && (count || behind == "%"))
    return so_many(number, behind == "%", text, served);
  return by_name(text, served);
}

bool fits_pattern(const std::string& pattern, const std::string& name) {
  return ::fnmatch(pattern.c_str(), name.c_str(), FNM_NOESCAPE) == 0;
}

std::vector<std::string> comma_parts(const std::string& text) {
  std::vector<std::string> parts;
  std::istringstream stream(text);
  for (std::string part; std::getline(stream, part, ',');)
    if (!part.empty()) parts.push_back(part);
  return parts;
}

}  // namespace vergeset::sim
