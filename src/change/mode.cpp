#include "change/mode.h"

#include <fmt/format.h>

namespace vergeset::change {

ModeFound mode_of(const schema::Model& model, const AsFound& found) {
  ModeFound mode;
  if (!model.mode) return mode;
  const smi::Value& asked = found.at(model.mode->asked->oid.child(0));
  const smi::Value& status = found.at(model.mode->status->oid.child(0));
  if (asked.absent() || status.absent()) return mode;
  mode.known = true;
  mode.asked = asked.number;
  mode.standby = status.number == model.mode->status_standby;
  mode.operate = status.number == model.mode->status_operate;
  return mode;
}

std::optional<std::string> unreached_mode(const schema::Model& model, const AsFound& found,
                                          std::int64_t wanted) {
  const ModeFound mode = mode_of(model, found);
  if (!mode.known || mode.asked != wanted) return std::nullopt;
  const bool operate = wanted == model.mode->operate;
  const bool standby = wanted == model.mode->standby;
  if ((!operate && !standby) || (operate && mode.operate) || (standby && mode.standby)) return std::nullopt;
  const schema::Object& status = *model.mode->status;
  return fmt::format("in {}, asked {}", smi::to_text(status.syntax, found.at(status.oid.child(0))),
                     operate ? "to operate" : "for standby");
}

}  // namespace vergeset::change
