#include "change/serial_no.h"

#include "records/mistake.h"

namespace vergeset::change {

const smi::Oid& SerialNo::instance() {
  static const smi::Oid oid{1, 3, 6, 1, 6, 3, 1, 1, 6, 1, 0};
  return oid;
}

void SerialNo::found(const smi::Value& value) {
  number_.reset();
  counted_ = 0;
  if (value.type != smi::Type::integer || left_out_ || records::makes(records::Mistake::no_serial)) return;
  number_ = at_first_ = value.number;
}

snmp::VarBind SerialNo::binding() const {
  return {instance(), smi::Value::integer(number())};
}

std::int64_t SerialNo::next(std::int64_t number) {
  constexpr std::int64_t most = 2147483647;
  return number == most ? 0 : number + 1;
}

void SerialNo::counted() {
  if (!number_) return;
  number_ = next(*number_);
  taken_ = true;
  ++counted_;
}

void SerialNo::refused() {
  left_out_ = ++refused_ > 1;
  if (left_out_) number_.reset();
}

}  // namespace vergeset::change
