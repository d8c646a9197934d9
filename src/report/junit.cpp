#include "report/junit.h"

#include <fmt/format.h>

#include "records/clock.h"
#include "report/markup.h"
#include "report/standing_words.h"
#include "report/words.h"
#include "smi/inert.h"

namespace vergeset::report {

namespace {

std::string safe(const std::string& text) {
  return as_markup(smi::inert(text));
}

struct Counts {
  std::size_t failures = 0;
  std::size_t errors = 0;
  std::size_t skipped = 0;
};

std::string differences_of(const records::AuditedUnit& unit) {
  std::string out;
  for (const records::AuditedDifference& one : unit.differences) {
    for (const records::AuditedItem& item : one.items) {
      const std::string name = item.setting == one.name ? one.name : one.name + ", " + item.setting;
      out += fmt::format("{}: as found {}, desired {} ({})\n", name, item.as_found_words,
                         item.desired ? item.desired_words : "no such row", item.asked);
    }
    if (one.items.empty()) out += fmt::format("{}: {}\n", one.name, one.kind);
  }
  for (const std::string& one : unit.obstacles) out += one + "\n";
  return out;
}

std::string line_of(const records::AuditedFinding& one) {
  return fmt::format("{}: {}{}\n", severity_of(one), one.text,
                     one.source.empty() ? "" : " (" + one.source + ")");
}

/// Line ends stay: what stands in elements is text of many lines.
std::string element(const char* name, const std::string& type, const std::string& message,
                    const std::string& text) {
  return fmt::format("   <{0} type=\"{1}\" message=\"{2}\">{3}</{0}>\n", name, safe(type), safe(message),
                     as_markup(smi::inert_lines(text)));
}

std::string failure_of(const records::AuditedUnit& unit, Stood stood) {
  std::string message = stood == Stood::drifted ? counted(unit.differences.size(), "difference") : "";
  std::string text = differences_of(unit);
  std::size_t errors = 0;
  for (const records::AuditedFinding& one : all_findings(unit)) {
    if (severity_of(one) != "error") continue;
    ++errors;
    text += line_of(one);
  }
  if (errors > 0) message += (message.empty() ? "" : ", ") + counted(errors, "finding");
  if (message.empty()) return {};
  return element("failure", stood == Stood::drifted ? "drifted" : "finding", message, text);
}

std::string case_of(const Standing& standing, const UnitStanding& unit, Counts& counts) {
  std::string inside;
  std::string others;
  const Stood stood = unit.stands();
  if (stood == Stood::not_audited) {
    ++counts.skipped;
    inside = "   <skipped message=\"not audited\"/>\n";
  } else if (stood == Stood::no_answer || stood == Stood::wrong_unit) {
    ++counts.errors;
    inside = element("error", std::string(stood_name(stood)), unit.now->what, "");
  } else if (std::string failure = failure_of(*unit.now, stood); !failure.empty()) {
    ++counts.failures;
    inside = std::move(failure);
  }
  if (unit.now) {
    for (const records::AuditedFinding& one : all_findings(*unit.now)) {
      if (severity_of(one) != "error") others += line_of(one);
    }
  }
  if (!others.empty())
    inside += fmt::format("   <system-out>{}</system-out>\n", as_markup(smi::inert_lines(others)));
  const std::string head =
      fmt::format("  <testcase classname=\"{}.{}\" name=\"{}\" time=\"0\"", safe(standing.fleet->name),
                  safe(unit.unit->model->name), safe(unit.unit->name));
  return inside.empty() ? head + "/>\n" : head + ">\n" + inside + "  </testcase>\n";
}

}  // namespace

std::string junit(const Standing& standing) {
  Counts counts;
  std::string cases;
  for (const UnitStanding& unit : standing.units) cases += case_of(standing, unit, counts);
  const std::string numbers =
      fmt::format("tests=\"{}\" failures=\"{}\" errors=\"{}\" skipped=\"{}\"", standing.units.size(),
                  counts.failures, counts.errors, counts.skipped);
  const double took = static_cast<double>(standing.audit_ended - standing.audit_begun) / 1000;
  const std::string begun = records::stamp(standing.audit_begun).substr(0, 19);
  return fmt::format(
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"vergeset audit\" {0}>\n"
      " <testsuite name=\"{1}\" timestamp=\"{2}\" time=\"{3:.3f}\" {0}>\n{4} </testsuite>\n</testsuites>\n",
      numbers, safe(standing.fleet->name), begun, took, cases);
}

}  // namespace vergeset::report
