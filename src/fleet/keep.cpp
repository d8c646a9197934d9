#include "fleet/keep.h"

#include <fmt/format.h>

#include "smi/quantity.h"
#include "smi/suggest.h"

namespace vergeset::fleet {

namespace {

constexpr int longest_days = 36500;

struct KeptKind {
  const char* name;
  std::optional<int> Keep::*days;
  int least;  ///< what the next day still needs
};

constexpr KeptKind kept_kinds[] = {{"audits", &Keep::audits, 2},
                                   {"nights", &Keep::nights, 2},
                                   {"snapshots", &Keep::snapshots, 1},
                                   {"logs", &Keep::logs, 1}};

void read_days(const KeptKind& kind, const schema::Entry& entry, Keep& keep) {
  const std::string text = entry.text("92 days");
  if (!entry.is_text()) return;
  const auto quantity = smi::Quantity::parse(text);
  const auto days = quantity ? smi::in_unit(*quantity, "days") : Result<std::int64_t>(Problem{""});
  if (!quantity || quantity->unit.empty() || !days) {
    entry.fault(fmt::format("{} needs a number and a unit, as in 92 days; found {}", kind.name, text));
  } else if (*days < kind.least || *days > longest_days) {
    entry.fault(
        fmt::format("expected {} to {} days for {}, found {}", kind.least, longest_days, kind.name, text));
  } else {
    keep.*kind.days = static_cast<int>(*days);
  }
}

}  // namespace

Keep read_keep(const schema::Entry& entry) {
  Keep keep;
  for (const auto& [key, value] :
       entry.pairs("how long records stay, such as {audits: 92 days, nights: 800 days}")) {
    const std::string name = key.text("audits, nights, snapshots or logs");
    if (!key.is_text()) continue;
    std::vector<std::string> known;
    const KeptKind* found = nullptr;
    for (const KeptKind& kind : kept_kinds) {
      known.emplace_back(kind.name);
      if (name == kind.name) found = &kind;
    }
    if (found != nullptr) {
      read_days(*found, value, keep);
    } else {
      key.fault("expected audits, nights, snapshots or logs, found " + name + smi::suggestion(name, known));
    }
  }
  if (keep.audits && keep.nights && *keep.nights < *keep.audits)
    entry.fault("nights are what is left of audits: keep them as long as those, or longer");
  return keep;
}

}  // namespace vergeset::fleet
