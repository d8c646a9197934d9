#include "report/factory_text.h"
#include "report/json.h"
#include "report/survey_text.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using change::Difference;
using change::Step;

Json item_json(const change::Item& item) {
  Json out{{"setting", item.setting},
           {"object", item.name},
           {"oid", item.oid.str()},
           {"as_found", value_json(item.syntax, item.unit, item.as_found)},
           {"desired", value_json(item.syntax, item.unit, item.desired)},
           {"needs_standby", item.needs_standby},
           {"cuts_off", item.cuts_off},
           {"asked", item.asked}};
  if (!item.found_words.empty()) out["as_found"]["words"] = item.found_words;
  return out;
}

/// Of a row that goes its columns stand as found: nothing is desired of them.
Json items_json(const Difference& difference) {
  Json out = Json::array();
  for (const change::Item& item : difference.items) out.push_back(item_json(item));
  if (difference.kind != Difference::Kind::remove_row) return out;
  for (const change::Item& item : difference.whole_row) {
    if (item.as_found.absent()) continue;
    out.push_back(item_json(item));
    out.back()["desired"] = nullptr;
  }
  return out;
}

Json step_json(const Step& step) {
  Json sets = Json::array();
  for (const change::Assignment& one : step.assignments) {
    sets.push_back({{"object", one.name},
                    {"oid", one.oid.str()},
                    {"words", one.text},
                    {"type", smi::type_name(one.value.type)},
                    {"value", smi::exact_text(one.value)}});
  }
  const char* kind = step.kind == Step::Kind::go_standby   ? "go to standby"
                     : step.kind == Step::Kind::go_operate ? "go to operate"
                                                           : "set";
  return {{"step", kind},
          {"about", step.about},
          {"in_standby", step.standby},
          {"cuts_off", step.cuts_off},
          {"set", std::move(sets)}};
}

Json result_json(const change::UnitResult& unit, const std::string& outcome) {
  return {{"unit", unit.unit},
          {"outcome", outcome},
          {"what", unit.what},
          {"differences", differences_json(unit.differences)},
          {"remarks", remarks_json(unit.remarks)},
          {"sequence", sequence_json(unit.sequence)},
          {"steps_done", unit.steps_done},
          {"off_air_ms", unit.off_air.count()},
          {"still_off_air", unit.still_off_air},
          {"health", findings_json(unit.health)}};
}

Json ends_json(const std::vector<records::Expiry>& ends) {
  Json out = Json::array();
  for (const records::Expiry& one : ends)
    out.push_back({{"what", one.what}, {"at", records::stamp(one.at)}, {"or_later", one.or_later}, {"renewed", one.renewed}});
  return out;
}

/// Null where it was not read.
Json position_json(const records::FoundAt& at) {
  if (at == records::FoundAt{}) return nullptr;
  const auto number = [](const std::optional<double>& one) { return one ? Json(*one) : Json(nullptr); };
  return {{"latitude", number(at.latitude)}, {"longitude", number(at.longitude)},
          {"height_m", number(at.height)},   {"away_m", number(at.away)},
          {"bearing", number(at.bearing)},   {"unknown", at.unknown}};
}

}  // namespace

Json differences_json(const std::vector<Difference>& differences) {
  Json out = Json::array();
  for (const Difference& difference : differences) {
    Json one{{"name", difference.name},
             {"kind", kind_name(difference.kind)},
             {"table", nullptr},
             {"row", nullptr},
             {"asked", difference.asked},
             {"needs_standby", difference.standby()},
             {"cuts_off", difference.cuts_off()},
             {"items", items_json(difference)}};
    if (difference.is_row()) {
      one["table"] = difference.row.table;
      one["row"] = difference.row.index;
    }
    out.push_back(std::move(one));
  }
  return out;
}

Json remarks_json(const std::vector<change::Remark>& remarks) {
  Json out = Json::array();
  for (const change::Remark& remark : remarks) {
    out.push_back({{"kind", kind_name(remark.kind)}, {"name", remark.name}, {"text", remark.text}});
  }
  return out;
}

Json findings_json(const std::vector<checks::Finding>& health) {
  Json out = Json::array();
  for (const checks::Finding& finding : health) {
    Json one{{"rule", finding.rule},
             {"severity", fleet::severity_name(finding.severity)},
             {"text", finding.text},
             {"source", finding.source}};
    if (finding.place.line > 0) one["place"] = finding.place.str();
    out.push_back(std::move(one));
  }
  return out;
}

Json sequence_json(const change::Sequence& sequence) {
  Json steps = Json::array();
  for (const Step& step : sequence.steps) steps.push_back(step_json(step));
  return {{"leaves_operate", sequence.leaves_operate},
          {"ends_off_air", sequence.ends_off_air},
          {"expected_off_air_s", change::expected_off_air_s(sequence)},
          {"steps", std::move(steps)}};
}

Json audit_json(const std::vector<change::Audited>& units) {
  Json out = Json::array();
  for (const change::Audited& unit : units) {
    out.push_back({{"unit", unit.unit->name},
                   {"verdict", verdict_name(unit.verdict)},
                   {"what", unit.what},
                   {"taken", unit.found.taken},
                   {"differences", differences_json(unit.comparison.differences)},
                   {"obstacles", unit.comparison.obstacles},
                   {"remarks", remarks_json(unit.comparison.remarks)},
                   {"health", findings_json(unit.health)},
                   {"position", position_json(unit.position)},
                   {"ends", ends_json(unit.ends)},
                   {"up_s", unit.counted.up ? Json(*unit.counted.up) : Json(nullptr)},
                   {"factory", factory_json(unit)}});
  }
  return out;
}

Json survey_json(const std::vector<change::Audited>& units) {
  Json out = Json::array();
  for (const change::Audited& unit : units) {
    const bool was_read = unit.verdict == change::Verdict::agrees;
    const SurveyCount counts = count(*unit.unit->model, unit.found);
    out.push_back({{"unit", unit.unit->name},
                   {"outcome", was_read ? "read" : verdict_name(unit.verdict)},
                   {"what", unit.what},
                   {"taken", unit.found.taken},
                   {"objects", counts.objects},
                   {"rows", counts.rows},
                   {"not_there", counts.absent}});
  }
  return out;
}

Json dry_run_json(const std::vector<change::Preview>& previews) {
  Json out = Json::array();
  for (const change::Preview& preview : previews) {
    const bool change = preview.result.outcome == change::Outcome::settled;
    out.push_back(result_json(preview.result,
                              change ? "would change" : std::string(outcome_name(preview.result.outcome))));
    if (!preview.opener.empty()) out.back()["opened_by"] = preview.opener;
  }
  return out;
}

Json change_result_json(const change::ChangeResult& change) {
  Json units = Json::array();
  for (const change::UnitResult& unit : change.units) {
    units.push_back(result_json(unit, std::string(outcome_name(unit.outcome))));
  }
  Json out{{"change", nullptr}, {"stopped", change.stopped}, {"units", std::move(units)}};
  if (change.number > 0) out["change"] = change.number;
  return out;
}

Json recovered_json(const std::vector<change::Recovered>& changes) {
  Json out = Json::array();
  for (const change::Recovered& one : changes) {
    Json units = Json::array();
    for (const change::UnitResult& unit : one.units) {
      units.push_back(result_json(unit, std::string(outcome_name(unit.outcome))));
    }
    const records::ChangeRecord& was = one.was.change;
    out.push_back({{"change", was.number},
                   {"kind", was.kind},
                   {"of", was.of},
                   {"who", was.who},
                   {"why", was.why},
                   {"begun", was.begun},
                   {"has_ended", one.ended},
                   {"stopped", one.stopped},
                   {"unfinished", one.unfinished},
                   {"units", std::move(units)}});
  }
  return out;
}

}  // namespace vergeset::report
