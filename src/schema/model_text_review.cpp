#include "schema/model_text_review.h"

#include <fmt/format.h>

#include <array>
#include <string_view>

#include "smi/inert.h"
#include "smi/units.h"
#include "smi/words.h"

namespace vergeset::schema {

namespace {

using smi::MibAccess;
using smi::MibObject;
using smi::MibStatus;

/// A word of a name or a description, and the trait that it may mean (common practice, no source).
struct Pointer {
  std::string_view word;
  std::string_view trait;
};

constexpr std::array<Pointer, 20> pointers{
    {{"reboot", "action"},          {"restart", "action"},   {"reset", "action"},
     {"shutdown", "action"},        {"shut down", "action"}, {"erase", "action"},
     {"clear", "action"},           {"flush", "action"},     {"delete all", "action"},
     {"factory default", "action"}, {"install", "action"},   {"upgrade", "action"},
     {"standby", "needs-standby"},  {"ipaddr", "cuts-off"},  {"gateway", "cuts-off"},
     {"netmask", "cuts-off"},       {"subnet", "cuts-off"},  {"dhcp", "cuts-off"},
     {"vlan", "cuts-off"},          {"query", "running"}}};

/// "traits; `reboot` in its name points to action"
std::string traits_to_review(const MibObject& object) {
  const std::string name = smi::lower(object.name);
  const std::string description = smi::lower(object.description);
  for (const Pointer& pointer : pointers) {
    const bool named = name.find(pointer.word) != name.npos;
    if (!named && description.find(pointer.word) == description.npos) continue;
    return fmt::format("traits ({:?} in its {} may mean {})", pointer.word, named ? "name" : "description",
                       pointer.trait);
  }
  return "traits";
}

void add_status(const MibObject& object, std::vector<std::string>& things) {
  if (object.status == MibStatus::deprecated) things.emplace_back("the MIB calls it deprecated");
  if (object.status == MibStatus::obsolete)
    things.emplace_back("the MIB calls it obsolete; units may lack it");
}

}  // namespace

bool can_be_set(const MibObject& object) {
  return object.access == MibAccess::read_write || object.access == MibAccess::read_create ||
         object.access == MibAccess::write_only;
}

bool can_be_read(const MibObject& object) {
  return object.access == MibAccess::read_only || object.access == MibAccess::read_write ||
         object.access == MibAccess::read_create;
}

bool is_told_an_action(const MibObject& object) {
  return object.access == MibAccess::write_only || (can_be_set(object) && object.convention == "TestAndIncr");
}

std::vector<std::string> things_to_review(const PartObject& part) {
  const MibObject& object = *part.object;
  std::vector<std::string> things;
  if (object.access == MibAccess::write_only) {
    things.emplace_back("write-only in the MIB");
  } else if (can_be_set(object) && part.syntax.syntax.form != smi::Form::row_status &&
             !is_told_an_action(object)) {
    things.push_back(traits_to_review(object));
  }
  if (!part.syntax.guess.empty()) things.push_back("this form is a guess, " + part.syntax.guess);
  if (!part.syntax.remark.empty()) things.push_back(part.syntax.remark);
  const std::string units(smi::trimmed(object.units));
  if (!units.empty() && !smi::measure_of(units)) {
    things.push_back(fmt::format("it counts in \"{}\", a unit that vergeset does not know",
                                 smi::inert(units.substr(0, 60))));
  }
  if (object.access == MibAccess::notify) things.emplace_back("in notifications alone");
  add_status(object, things);
  return things;
}

std::vector<std::string> things_to_review(const PartTable& table) {
  std::vector<std::string> things;
  bool settable = false;
  for (const PartObject& column : table.columns) settable = settable || can_be_set(*column.object);
  if (settable) things.emplace_back("traits of the table and of its columns");
  if (!table.status.empty()) things.emplace_back("how a row is changed (edit), how many there may be (most)");
  add_status(*table.table, things);
  return things;
}

}  // namespace vergeset::schema
