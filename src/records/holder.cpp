#include "records/holder.h"

#include <fmt/format.h>
#include <unistd.h>

#include "records/yaml_text.h"
#include "smi/words.h"

namespace vergeset::records {

std::string to_yaml(const Holder& holder) {
  YAML::Emitter out;
  out << YAML::BeginMap;
  out << YAML::Key << "who" << YAML::Value << holder.who;
  out << YAML::Key << "command" << YAML::Value << holder.command;
  out << YAML::Key << "since" << YAML::Value << holder.since;
  out << YAML::Key << "process" << YAML::Value << holder.process;
  out << YAML::EndMap;
  return std::string(out.c_str()) + "\n";
}

std::string held_by(const std::string& text) {
  std::string nameless = "another process that has not told its name";
  const auto parsed = parse_record(text);
  if (!parsed || !parsed->IsMap()) return nameless;
  const std::string who = text_at(*parsed, "who");
  if (who.empty()) return nameless;
  return smi::escaped(fmt::format("{} ({}, since {}, process {})", who, text_at(*parsed, "command"),
                                  text_at(*parsed, "since"), text_at(*parsed, "process")));
}

void write_name(int descriptor, const Holder& holder) {
  const std::string text = to_yaml(holder);
  if (::ftruncate(descriptor, 0) != 0) return;
  [[maybe_unused]] const ssize_t written = ::pwrite(descriptor, text.data(), text.size(), 0);
}

}  // namespace vergeset::records
