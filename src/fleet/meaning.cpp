#include "fleet/meaning.h"

namespace vergeset::fleet {

const schema::Mapping* mapping_on(const schema::CommonSetting& setting, const schema::Model& model) {
  const auto found = setting.on.find(model.name);
  return found == setting.on.end() || found->second.object == nullptr ? nullptr : &found->second;
}

void add_missing(std::map<std::string, Missing>& missing, const std::string& name,
                 const schema::CommonSetting& setting, const schema::Model& model, const Ask& ask) {
  Missing& one = missing[name];
  one.refused = !setting.left_out && !setting.refusal.empty();
  one.why = setting.refusal.empty() ? model.name + " has no such object" : setting.refusal;
  one.asks.push_back(ask);
}

void tell_missing(const Reading& reading, const std::map<std::string, Missing>& missing,
                  const std::string& prefix, Desired& desired) {
  for (const auto& [name, one] : missing) {
    const Ask& last = one.asks.back();
    if (one.refused) {
      reading.fault(last.written->name_place,
                    name + " cannot be had on " + reading.unit.model->name + ": " + one.why);
    } else {
      desired.left_out.push_back(LeftOut{prefix + name, one.why, last.asked()});
    }
  }
}

}  // namespace vergeset::fleet
