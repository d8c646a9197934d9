#pragma once

#include <memory>
#include <string>

#include "records/unit_log.h"
#include "schema/model.h"
#include "snmp/network.h"

namespace vergeset::change {

/// A link that writes every request and what came of it to the unit's log: SETs whole, reads by their
/// number of objects.
class LoggedLink : public snmp::Link {
 public:
  LoggedLink(std::unique_ptr<snmp::Link> link, records::UnitLog& log, const schema::Model& model)
      : link_(std::move(link)), log_(log), model_(model) {}

  snmp::Task<snmp::Answer> get(std::vector<smi::Oid> oids) override;
  snmp::Task<snmp::Answer> get_next(std::vector<smi::Oid> oids) override;
  using Link::get_bulk;
  snmp::Task<snmp::Answer> get_bulk(std::vector<smi::Oid> once, std::vector<smi::Oid> repeated,
                                    int repetitions) override;
  snmp::Task<snmp::Answer> set(std::vector<snmp::VarBind> varbinds) override;
  snmp::Task<bool> answers_little() override;
  snmp::Engine engine() const override { return link_->engine(); }
  std::string certificate() const override { return link_->certificate(); }
  snmp::Traffic traffic() const override { return link_->traffic(); }

 private:
  snmp::Answer named(snmp::Answer answer, const std::vector<smi::Oid>& asked) const;
  void note(const std::string& request, const snmp::Answer& answer);

  std::unique_ptr<snmp::Link> link_;
  records::UnitLog& log_;
  const schema::Model& model_;
};

}  // namespace vergeset::change
