#include "checks/as_read.h"

#include "smi/numbers.h"
#include "smi/syntax.h"

namespace vergeset::checks {

const smi::Value* AsRead::value(const schema::Object* object, std::uint32_t index) const {
  if (object == nullptr) return nullptr;
  const smi::Value& found = at(object->oid.child(index));
  return found.absent() ? nullptr : &found;
}

const smi::Value* AsRead::value(std::string_view name, std::uint32_t index) const {
  return value(model.object(name), index);
}

std::optional<std::int64_t> AsRead::number(const schema::Object* object, std::uint32_t index) const {
  const smi::Value* found = value(object, index);
  if (found == nullptr || !smi::integer_kind(found->type)) return std::nullopt;
  return found->number;
}

std::optional<std::int64_t> AsRead::number(std::string_view name, std::uint32_t index) const {
  return number(model.object(name), index);
}

std::string AsRead::words(std::string_view name, std::uint32_t index) const {
  const schema::Object* object = model.object(name);
  const smi::Value* found = value(object, index);
  return found == nullptr ? std::string() : smi::to_text(object->syntax, *found);
}

const schema::Object* either(const schema::Model& model, const char* one, const char* other) {
  const schema::Object* object = model.object(one);
  return object != nullptr ? object : model.object(other);
}

}  // namespace vergeset::checks
