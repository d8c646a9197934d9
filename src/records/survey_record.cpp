#include "records/survey_record.h"

#include "records/kept_yaml.h"
#include "records/yaml_text.h"

namespace vergeset::records {

std::string to_yaml(const Survey& survey) {
  YAML::Emitter out;
  out << YAML::BeginMap;
  out << YAML::Key << "survey" << YAML::Value << 1;
  out << YAML::Key << "unit" << YAML::Value << survey.unit;
  out << YAML::Key << "model" << YAML::Value << survey.model;
  out << YAML::Key << "taken" << YAML::Value << survey.taken;
  out << YAML::Key << "engine-id" << YAML::Value << YAML::DoubleQuoted << survey.engine_id;
  out << YAML::Key << "whole" << YAML::Value << (survey.whole ? "yes" : "no");
  out << YAML::Key << "instances" << YAML::Value;
  emit(out, survey.instances);
  out << YAML::EndMap;
  return std::string(out.c_str()) + "\n";
}

namespace {

Result<Survey> survey_from(const YAML::Node& node) {
  if (text_at(node, "survey") != "1") return Problem{"expected `survey: 1`"};
  Survey survey;
  survey.unit = text_at(node, "unit");
  survey.model = text_at(node, "model");
  survey.taken = text_at(node, "taken");
  survey.engine_id = text_at(node, "engine-id");
  survey.whole = text_at(node, "whole") == "yes";
  auto instances = kept_list_from(node["instances"]);
  if (!instances) return Problem{instances.problem()};
  survey.instances = *std::move(instances);
  return survey;
}

}  // namespace

Result<Survey> survey_from_yaml(const std::string& text) {
  return from_record<Survey>(text, survey_from);
}

std::string survey_path(const std::string& unit) {
  return "surveys/" + unit + ".yaml";
}

std::optional<Result<Survey>> find_survey(const Disk& disk, const std::string& unit) {
  const auto text = disk.read(survey_path(unit));
  if (!text) return std::nullopt;
  return survey_from_yaml(*text);
}

}  // namespace vergeset::records
