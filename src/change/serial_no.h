#pragma once

#include <cstdint>
#include <optional>

#include "smi/oid.h"
#include "smi/value.h"
#include "snmp/network.h"

namespace vergeset::change {

/// snmpSetSerialNo of one unit (RFC 3418): a SET that holds it is carried out only while it has the number
/// that the SET names, and counts it on (TestAndIncr, RFC 2579). So a SET of ours that comes late, twice, or
/// after another manager's fails as a whole instead of overwriting. Units that do not offer it, do not take
/// it, or do not count are set without.
class SerialNo {
 public:
  static const smi::Oid& instance();  ///< snmpSetSerialNo.0

  /// As read with what a SET will rest on. Absent: the unit does not offer it.
  void found(const smi::Value& value);
  bool offered() const { return number_.has_value(); }
  std::int64_t number() const { return number_.value_or(0); }
  snmp::VarBind binding() const;
  /// A SET that held it was carried out.
  void counted();
  /// What it is after a SET that named `number`.
  static std::int64_t next(std::int64_t number);
  /// The unit refused it though it has the number that the SET named, or never counts: once may be a mishap,
  /// from the second time on it is left out.
  void refused();
  /// SETs that named it were carried out: a refusal of it is no habit of the unit's.
  bool is_taken() const { return taken_; }
  /// It has stood at one number while SETs were acknowledged.
  bool never_counts(std::int64_t read) const { return counted_ > 0 && read == at_first_; }

 private:
  std::optional<std::int64_t> number_;
  std::int64_t at_first_ = 0;
  int counted_ = 0;
  int refused_ = 0;
  bool left_out_ = false;
  bool taken_ = false;
};

}  // namespace vergeset::change
