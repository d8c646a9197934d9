#include "snmp/mib_log.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "smi/words.h"

namespace vergeset::snmp {

namespace {

/// More than a person reads; a bad file may have a fault in each token.
constexpr std::size_t most_told = 200;

struct Parted {
  std::string before;
  std::string behind;
};

/// The text before and behind the last `mark`.
std::optional<Parted> parted(const std::string& line, const std::string& mark) {
  const std::size_t at = line.rfind(mark);
  if (at == std::string::npos) return std::nullopt;
  return Parted{line.substr(0, at), line.substr(at + mark.size())};
}

/// "12 in FILE" or "12 of FILE".
std::optional<smi::MibFault> placed(const std::string& text, const std::string& where,
                                    const std::string& link) {
  const std::size_t at = where.find(link);
  if (at == std::string::npos) return std::nullopt;
  const auto line = smi::whole_number(where.substr(0, at));
  if (!line || *line < 0 || *line > 1'000'000'000) return std::nullopt;
  return smi::MibFault{where.substr(at + link.size()), static_cast<int>(*line), text};
}

std::string in_brackets(const std::string& text) {
  const std::size_t open = text.find('(');
  const std::size_t close = text.rfind(')');
  if (open == std::string::npos || close == std::string::npos || close < open) return text;
  return text.substr(open + 1, close - open - 1);
}

/// The parser's own words, but for a module that is missing: there a person can do something at once.
std::string told(const std::string& text) {
  if (text.rfind("Cannot find module", 0) != 0) return "net-snmp's parser says: " + text;
  const std::string module = in_brackets(text);
  return fmt::format(
      "the module {} that it imports from is not found; put its file beside this one, or give it too",
      module);
}

}  // namespace

void MibLog::add(const std::string& raw) {
  const std::string line(smi::trimmed(raw));
  if (line.empty() || line.rfind("MIB search path:", 0) == 0 || line.rfind("Unlinked OID", 0) == 0) return;
  if (const auto at = parted(line, ": At line ")) {
    if (auto fault = placed(told(at->before), at->behind, " in ")) {
      if (faults_.size() < most_told) faults_.push_back(*std::move(fault));
      return;
    }
  }
  if (const auto at = parted(line, " near line "); at && line.rfind("Undefined identifier: ", 0) == 0) {
    const std::string name = at->before.substr(at->before.find(": ") + 2);
    if (auto fault = placed(name, at->behind, " of ")) {
      if (undefined_.size() < most_told) undefined_.push_back(*std::move(fault));
      return;
    }
  }
  if (auto homeless = homeless_in(line)) {
    if (homeless_.size() < most_told) homeless_.push_back(*std::move(homeless));
    return;
  }
  if (notes_.size() < most_told) notes_.push_back(line);
}

/// "Cannot adopt OID in MODULE: name ::= { above 3 }"
std::optional<MibLog::Homeless> MibLog::homeless_in(const std::string& line) {
  constexpr std::string_view begin = "Cannot adopt OID in ";
  const auto at = parted(line, " ::= { ");
  if (!at || line.rfind(begin, 0) != 0) return std::nullopt;
  const std::size_t colon = at->before.find(": ", begin.size());
  if (colon == std::string::npos) return std::nullopt;
  return Homeless{at->before.substr(begin.size(), colon - begin.size()), at->before.substr(colon + 2),
                  at->behind.substr(0, at->behind.find(' '))};
}

/// What hangs on nothing though each name is defined: names that stand below themselves.
void MibLog::tell_homeless(smi::Mib& mib) const {
  for (const Homeless& one : homeless_) {
    if (std::find(mib.modules.begin(), mib.modules.end(), one.module) == mib.modules.end()) continue;
    mib.faults.push_back({"module " + one.module, 0,
                          fmt::format("{} stands below {}, and that stands nowhere", one.name, one.above)});
  }
}

void MibLog::tell(const std::vector<std::string>& files, smi::Mib& mib) const {
  const auto tell_one = [&](const smi::MibFault& fault) {
    if (std::find(files.begin(), files.end(), fault.file) != files.end()) {
      mib.faults.push_back(fault);
    } else {
      mib.notes.push_back(fmt::format("{}:{}: {}", fault.file, fault.line, fault.text));
    }
  };
  for (const smi::MibFault& fault : faults_) tell_one(fault);
  for (smi::MibFault fault : undefined_) {
    const bool found = std::none_of(homeless_.begin(), homeless_.end(),
                                    [&](const Homeless& one) { return one.above == fault.text; });
    if (found) continue;
    fault.text = fmt::format(
        "{} is defined nowhere; import it from the module that has it, and put that module's file beside "
        "this",
        fault.text);
    tell_one(fault);
  }
  if (mib.faults.empty()) tell_homeless(mib);
  mib.notes.insert(mib.notes.end(), notes_.begin(), notes_.end());
}

}  // namespace vergeset::snmp
