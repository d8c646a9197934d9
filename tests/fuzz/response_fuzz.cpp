// The octets of a PDU that an agent answered, through net-snmp's parser: what becomes of them as an answer,
// and whether its values can be SET again as they came.
//
// About: src/snmp/pdu.cpp

#include "fuzz/larkmoor.h"
#include "snmp/pdu.h"

using namespace vergeset;

namespace {

snmp::Request request_of(unsigned choice) {
  static constexpr int commands[] = {SNMP_MSG_GET, SNMP_MSG_GETNEXT, SNMP_MSG_GETBULK, SNMP_MSG_SET};
  snmp::Request request;
  request.command = commands[choice % 4];
  request.repetitions = 10;
  request.varbinds = {{smi::Oid{1, 3, 6, 1, 2, 1, 1, 5, 0}, smi::Value::of_octets("LK-101")}};
  return request;
}

void must_be_usable(const snmp::VarBind& bind) {
  const std::string exact = smi::exact_text(bind.value);
  const auto again = smi::from_exact_text(bind.value.type, exact);
  fuzz::must(again && *again == bind.value, "a value that came is kept exactly", exact);
  for (const auto& [name, model] : fuzz::standards()->models) {
    const schema::Object* object = model->object_at(bind.oid);
    if (object == nullptr) continue;
    fuzz::must(fuzz::safe_to_show(smi::to_text(object->syntax, bind.value)), "a value is safe to show",
               exact);
    if (const auto fault = smi::violation(object->syntax, bind.value)) fuzz::must_explain(*fault);
  }
}

/// A restore SETs what was read.
void must_go_back(const snmp::VarBind& bind) {
  snmp::Request set;
  set.command = SNMP_MSG_SET;
  set.varbinds = {bind};
  auto made = snmp::make_pdu(set);
  if (const auto* const error = std::get_if<snmp::Error>(&made)) return fuzz::must_explain(error->text);
  netsnmp_pdu& pdu = *std::get<snmp::Pdu>(made);
  pdu.errstat = SNMP_ERR_NOERROR;  // as in the response that says the same
  const snmp::Answer answer = snmp::read_response(set, pdu);
  fuzz::must(static_cast<bool>(answer), "what was sent can be read");
  fuzz::must(answer.varbinds().size() == 1 && answer.varbinds()[0].oid == bind.oid &&
                 answer.varbinds()[0].value == bind.value,
             "what is SET is what was read", bind.oid.str());
}

}  // namespace

FUZZ_TARGET(response) {
  snmp::start_library();
  const snmp::Request request = request_of(fuzz::take_octet(input));
  const snmp::Pdu pdu(snmp_pdu_create(SNMP_MSG_RESPONSE));
  std::string octets(input);  // the parser takes them as its own
  std::size_t size = octets.size();
  if (snmp_pdu_parse(pdu.get(), reinterpret_cast<u_char*>(octets.data()), &size) != 0) return;
  const snmp::Answer answer = snmp::read_response(request, *pdu);
  if (!answer) return fuzz::must_explain(answer.error().text);
  for (const snmp::VarBind& bind : answer.varbinds()) {
    must_be_usable(bind);
    must_go_back(bind);
  }
}
