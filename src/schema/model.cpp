#include "schema/model.h"

namespace vergeset::schema {

namespace {

template <class Map>
auto find(const Map& map, std::string_view name) -> const typename Map::mapped_type* {
  const auto at = map.find(name);
  return at == map.end() ? nullptr : &at->second;
}

}  // namespace

const Object* Model::object(std::string_view object_name) const {
  return find(objects, object_name);
}

const Table* Model::table(std::string_view table_name) const {
  return find(tables, table_name);
}

const Object* Model::object_at(const smi::Oid& instance) const {
  if (instance.empty()) return nullptr;
  const auto at = by_oid_.find(instance.parent());
  if (at == by_oid_.end()) return nullptr;
  const bool scalar = at->second->table == nullptr;
  return scalar && instance.back() != 0 ? nullptr : at->second;
}

std::string Model::name_of(const smi::Oid& instance) const {
  const Object* found = object_at(instance);
  return found == nullptr ? instance.str() : found->name + "." + std::to_string(instance.back());
}

void Model::index_objects() {
  by_oid_.clear();
  for (const auto& [object_name, object] : objects) {
    if (!object.oid.empty()) by_oid_.emplace(object.oid, &object);
  }
}

const Model* Schema::model(std::string_view name) const {
  const auto at = models.find(std::string(name));
  return at == models.end() ? nullptr : at->second.get();
}

}  // namespace vergeset::schema
