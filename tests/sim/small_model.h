#pragma once

#include <memory>
#include <string>

#include "schema/model.h"
#include "sim/store.h"

/// A model small enough to see whole: one of each thing that the store has a rule for, under names
/// of NTCIP 1218 where the store knows the name. Not a standard's.
namespace small {

using namespace vergeset;
using schema::Access;

inline const smi::Oid root{1, 3, 6, 1, 4, 1, 99999};

inline schema::Object& add(schema::Model& model, const std::string& name, const smi::Oid& oid,
                           const std::string& syntax, Access access) {
  schema::Object object;
  object.name = name;
  object.oid = oid;
  object.syntax = *smi::Syntax::parse(syntax);
  object.access = access;
  return model.objects[name] = object;
}

/// Columns from 1, the first the index: of "rsuMsgRepeat", a table that a manager makes rows in.
inline void add_messages(schema::Model& model) {
  const smi::Oid oid = root.child(2);
  schema::Table& table = model.tables["rsuMsgRepeatStatusTable"];
  table.name = "rsuMsgRepeatStatusTable";
  table.oid = oid;
  table.entry = oid.child(1);
  table.index = "rsuMsgRepeatIndex";
  table.index_range = {1, 255};
  const auto column = [&](std::uint32_t number, const char* name, const char* syntax) {
    schema::Object& object = add(model, name, table.entry.child(number), syntax, Access::read_create);
    object.table = &table;
    table.columns.push_back(&object);
    return &object;
  };
  column(1, "rsuMsgRepeatIndex", "Integer32 (1..255)")->access = Access::not_accessible;
  column(2, "rsuMsgRepeatPsid", "Psid (SIZE(1..4))");
  column(3, "rsuMsgRepeatTxInterval", "Integer32 (1..2147483647)")->initial = smi::Value::integer(1000);
  column(4, "rsuMsgRepeatPayload", "OCTET STRING (SIZE(0..2302))");
  column(5, "rsuMsgRepeatEnable", "INTEGER { off(0), on(1) }");
  table.status = column(6, "rsuMsgRepeatStatus", "RowStatus");
}

inline void add_radios(schema::Model& model) {
  const smi::Oid oid = root.child(3);
  schema::Table& table = model.tables["rsuRadioTable"];
  table.name = "rsuRadioTable";
  table.oid = oid;
  table.entry = oid.child(1);
  table.index = "rsuRadioIndex";
  table.index_range = {1, 16};
  schema::Object& index =
      add(model, "rsuRadioIndex", table.entry.child(1), "Integer32 (1..16)", Access::not_accessible);
  schema::Object& channel =
      add(model, "rsuRadioCh1", table.entry.child(2), "Integer32 (0..255)", Access::read_write);
  channel.traits.needs_standby = true;
  for (schema::Object* object : {&index, &channel}) {
    object->table = &table;
    table.columns.push_back(object);
  }
}

inline std::unique_ptr<schema::Model> model() {
  auto made = std::make_unique<schema::Model>();
  made->name = "small";
  made->title = "a small model";
  made->root = root;
  const auto scalar = [&](std::uint32_t number, const char* name, const char* syntax, Access access) {
    return &add(*made, name, root.child(1).child(number), syntax, access);
  };
  scalar(1, "rsuID", "DisplayString (SIZE(0..32))", Access::read_write);
  scalar(2, "rsuGnssMaxDeviation", "Integer32 (0..20000)", Access::read_write);
  scalar(3, "rsuFirmwareVersion", "DisplayString (SIZE(0..32))", Access::read_only);
  scalar(4, "rsuGnssStatus", "Integer32 (0..128)", Access::read_only);
  schema::ModeRule mode;
  mode.asked = scalar(5, "rsuMode", "INTEGER { other(1), standby(2), operate(3) }", Access::read_write);
  mode.status =
      scalar(6, "rsuModeStatus", "INTEGER { other(1), standby(2), operate(3), fault(4) }", Access::read_only);
  mode.standby = mode.status_standby = 2;
  mode.operate = mode.status_operate = 3;
  mode.status_fault = 4;
  made->mode = mode;
  scalar(7, "rsuReboot", "Integer32 (0..1)", Access::read_write)->traits.action = true;
  scalar(8, "rsuMsgRepeatDeleteAll", "Integer32 (0..1)", Access::read_write)->traits.action = true;
  schema::Object* most = scalar(9, "maxRsuMsgRepeat", "Integer32 (1..255)", Access::read_only);
  most->initial = smi::Value::integer(3);
  scalar(10, "snmpSetSerialNo", "Integer32 (0..2147483647)", Access::read_write);
  add_messages(*made);
  made->tables["rsuMsgRepeatStatusTable"].most = most;
  add_radios(*made);
  made->index_objects();
  return made;
}

constexpr std::int64_t start = 1764054000000;  ///< 2025-11-25T07:00Z
constexpr std::uint32_t psid = 2, interval = 3, payload = 4, enable = 5, status = 6;

inline smi::Oid scalar(std::uint32_t number) {
  return root.child(1).child(number).child(0);
}
inline smi::Oid message(std::uint32_t column, std::uint32_t row) {
  return root.child(2).child(1).child(column).child(row);
}
inline smi::Oid channel(std::uint32_t row) {
  return root.child(3).child(1).child(2).child(row);
}

inline sim::VarBind put(smi::Oid oid, std::int64_t number) {
  return {std::move(oid), smi::Value::integer(number)};
}
inline sim::VarBind put(smi::Oid oid, std::string octets) {
  return {std::move(oid), smi::Value::of_octets(std::move(octets))};
}

/// A store over a model of its own, and the calls that tests make all the time.
struct Bench {
  std::unique_ptr<schema::Model> model = small::model();
  sim::Store store{{model.get(), "LK-101", sim::Spot{51.1234567, -1.2345678, 41.2}, 1500}, nullptr, start};
  std::int64_t now = start + 1000;

  sim::Verdict set(const std::vector<sim::VarBind>& binds) {
    const sim::Verdict verdict = store.check(binds, now);
    if (verdict.ok()) store.commit(binds, now);
    return verdict;
  }
  smi::Value get(const smi::Oid& oid) const { return store.get(oid, now); }
  std::int64_t number(const smi::Oid& oid) const { return get(oid).number; }
  std::vector<sim::VarBind> whole_row(std::uint32_t row, std::int64_t action = 4) const {
    return {put(message(psid, row), std::string("\x80\x02", 2)),
            put(message(payload, row), std::string("\x00\x12\x02\x00\x00", 5)),
            put(message(status, row), action)};
  }
};

}  // namespace small
