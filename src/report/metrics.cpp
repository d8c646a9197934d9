#include "report/metrics.h"

#include <fmt/format.h>

#include <initializer_list>
#include <map>
#include <utility>

#include "fleet/rules.h"
#include "report/standing_words.h"
#include "smi/inert.h"

namespace vergeset::report {

namespace {

using Labels = std::initializer_list<std::pair<const char*, std::string>>;

/// OpenMetrics 1.0, "Label": backslash, quote and line feed are escaped; inert text has no line feed.
std::string label_value(const std::string& text) {
  std::string out;
  for (const char letter : smi::inert(text)) {
    if (letter == '\\' || letter == '"') out += '\\';
    out += letter;
  }
  return out;
}

class MetricsText {
 public:
  explicit MetricsText(std::string fleet) : fleet_(label_value(fleet)) {}

  /// A family of samples; `unit` is the end of its name, or empty.
  void family(const std::string& name, const char* type, const char* unit, const char* help) {
    name_ = "vergeset_" + name;
    text_ += fmt::format("# TYPE {} {}\n", name_, type);
    if (*unit != '\0') text_ += fmt::format("# UNIT {} {}\n", name_, unit);
    text_ += fmt::format("# HELP {} {}\n", name_, help);
  }

  void sample(const Labels& labels, const std::string& value, const char* suffix = "") {
    text_ += fmt::format("{}{}{{fleet=\"{}\"", name_, suffix, fleet_);
    for (const auto& [name, text] : labels) text_ += fmt::format(",{}=\"{}\"", name, label_value(text));
    text_ += fmt::format("}} {}\n", value);
  }

  std::string take() { return text_ + "# EOF\n"; }

 private:
  std::string fleet_;
  std::string name_;
  std::string text_;
};

std::string seconds_of(std::int64_t milliseconds) {
  return fmt::format("{}.{:03}", milliseconds / 1000, milliseconds % 1000);
}

void add_units(const Standing& standing, MetricsText& out) {
  std::map<Stood, std::size_t> units;
  std::map<std::string, std::size_t> findings;
  std::size_t differences = 0;
  for (const UnitStanding& unit : standing.units) {
    ++units[unit.stands()];
    if (!unit.now) continue;
    differences += unit.now->differences.size();
    for (const records::AuditedFinding& one : all_findings(*unit.now)) ++findings[severity_of(one)];
  }
  out.family("units", "gauge", "", "Units by the outcome of their newest audit.");
  for (const Stood stood :
       {Stood::agrees, Stood::drifted, Stood::wrong_unit, Stood::no_answer, Stood::not_audited})
    out.sample({{"outcome", std::string(stood_name(stood))}}, std::to_string(units[stood]));
  out.family("differences", "gauge", "", "Objects and rows that are not as the files ask.");
  out.sample({}, std::to_string(differences));
  out.family("findings", "gauge", "", "Findings by severity.");
  for (const auto severity : {fleet::Severity::error, fleet::Severity::warning, fleet::Severity::notice}) {
    const std::string name(fleet::severity_name(severity));
    out.sample({{"severity", name}}, std::to_string(findings[name]));
  }
}

void add_audit(const Standing& standing, MetricsText& out) {
  if (standing.audit_begun == 0) return;
  out.family("audit_begun_timestamp_seconds", "gauge", "seconds", "When the newest audit began, since 1970.");
  out.sample({}, seconds_of(standing.audit_begun));
  out.family("audit_age_seconds", "gauge", "seconds", "How old the newest audit was when this was written.");
  out.sample({}, seconds_of(standing.made - standing.audit_begun));
}

void add_changes(const Standing& standing, MetricsText& out) {
  out.family("off_air_seconds", "counter", "seconds",
             "Time that units spent in standby because of our changes.");
  out.sample({}, seconds_of(standing.off_air_ever_ms), "_total");
  std::size_t unfinished = 0;
  for (const records::ChangeRecord& change : standing.changes) unfinished += change.ended.empty() ? 1 : 0;
  out.family("unfinished_changes", "gauge", "", "Changes that were broken off and not recovered.");
  out.sample({}, std::to_string(unfinished));
}

void add_certificates(const Standing& standing, MetricsText& out) {
  out.family("certificate_hours", "gauge", "hours", "What certificates of units have left.");
  for (const UnitStanding& unit : standing.units) {
    if (!unit.now) continue;
    for (const records::Expiry& one : unit.now->ends)
      out.sample({{"unit", unit.unit->name}, {"certificate", one.what}},
                 fmt::format("{:.2f}", static_cast<double>(one.at - standing.made) / 3600000));
  }
}

}  // namespace

std::string metrics(const Standing& standing) {
  MetricsText out(standing.fleet->name);
  add_units(standing, out);
  add_audit(standing, out);
  add_changes(standing, out);
  add_certificates(standing, out);
  return out.take();
}

}  // namespace vergeset::report
