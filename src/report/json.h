#pragma once

#include <map>
#include <string>
#include <vector>

#include "change/apply.h"
#include "change/audit.h"
#include "change/reach.h"
#include "change/recover.h"
#include "records/journal.h"
#include "report/fleet_text.h"
#include "report/history_text.h"
#include "report/standing.h"
#include "report/where_text.h"

namespace vergeset::report {

using records::Json;

/// One document a command, with names that stay as they are. Each begins with `vergeset` (the version of
/// these documents) and `command`. Values stand in words and exactly, by type and value.
Json document(const std::string& command);
/// The text of a document; octets that are no UTF-8 are replaced.
std::string dump(const Json& document);
/// The same on one line, for a command that writes documents as things happen.
std::string dump_line(const Json& document);

Json faults_json(const Faults& faults);
Json fleet_json(const fleet::Fleet& fleet);
Json units_json(const std::vector<const fleet::Unit*>& units, const std::map<std::string, LastOutcome>& last);
Json where_json(const fleet::Unit& unit, const Where& where);
Json value_json(const smi::Syntax& syntax, const std::string& unit, const smi::Value& value);
Json differences_json(const std::vector<change::Difference>& differences);
Json remarks_json(const std::vector<change::Remark>& remarks);
Json findings_json(const std::vector<checks::Finding>& health);
Json sequence_json(const change::Sequence& sequence);
Json audit_json(const std::vector<change::Audited>& units);
Json reach_json(const std::vector<change::Climbed>& units);
Json survey_json(const std::vector<change::Audited>& units);
Json dry_run_json(const std::vector<change::Preview>& previews);
Json change_result_json(const change::ChangeResult& change);
Json recovered_json(const std::vector<change::Recovered>& changes);
Json changes_json(const std::vector<records::ChangeRecord>& changes);
Json change_json(const records::ChangeRecord& change);
/// `report`: where the fleet stands, and its nights.
Json standing_json(const Standing& standing);
Json log_json(const std::vector<LogLine>& lines);

}  // namespace vergeset::report
