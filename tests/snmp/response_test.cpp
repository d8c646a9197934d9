#include <array>

#include "catch.h"
#include "snmp/pdu.h"

using namespace vergeset;
using namespace vergeset::snmp;
using smi::Type;
using smi::Value;

namespace {

const smi::Oid first{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 1};
const smi::Oid second{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 2};
const smi::Oid third{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 3};

Request request_for(int command, const std::vector<smi::Oid>& oids) {
  Request request;
  request.command = command;
  for (const smi::Oid& oid : oids) request.varbinds.push_back({oid, {}});
  return request;
}

/// The Response-PDU that an agent would answer with, not yet sent.
Pdu response_of(const std::vector<VarBind>& varbinds) {
  Request request;
  request.command = SNMP_MSG_SET;
  request.varbinds = varbinds;
  auto made = make_pdu(request);
  if (!std::holds_alternative<Pdu>(made)) throw std::runtime_error(std::get<Error>(made).text);
  Pdu pdu = std::move(std::get<Pdu>(made));
  pdu->command = SNMP_MSG_RESPONSE;
  pdu->errstat = pdu->errindex = 0;
  return pdu;
}

Answer answer_to(int command, const std::vector<smi::Oid>& asked, const std::vector<smi::Oid>& answered) {
  std::vector<VarBind> varbinds;
  for (const smi::Oid& oid : answered) varbinds.push_back({oid, Value::integer(1)});
  return read_response(request_for(command, asked), *response_of(varbinds));
}

bool bad(const Answer& answer) {
  return !answer && answer.error().failure == Failure::bad_answer;
}

/// A response that went over the wire, in the encoding of net-snmp.
Pdu travelled(const Pdu& sent) {
  std::array<u_char, 2048> octets{};
  std::size_t left = octets.size();
  const u_char* const end = snmp_pdu_build(sent.get(), octets.data(), &left);
  REQUIRE(end != nullptr);
  Pdu received(snmp_pdu_create(SNMP_MSG_RESPONSE));
  std::size_t size = octets.size() - left;
  REQUIRE(snmp_pdu_parse(received.get(), octets.data(), &size) == SNMPERR_SUCCESS);
  return received;
}

}  // namespace

TEST_CASE("a response to a GET has its objects in its order (RFC 3416 4.2.1)") {
  CHECK(answer_to(SNMP_MSG_GET, {first, second}, {first, second}));
  CHECK(bad(answer_to(SNMP_MSG_GET, {first, second}, {second, first})));
  CHECK(bad(answer_to(SNMP_MSG_GET, {first, second}, {first, third})));
  CHECK(bad(answer_to(SNMP_MSG_GET, {first, second}, {first})));
  CHECK(bad(answer_to(SNMP_MSG_GET, {first, second}, {first, second, third})));
  CHECK(bad(answer_to(SNMP_MSG_GET, {first}, {})));
}

TEST_CASE(
    "a response to a GETNEXT has as many objects, one to a GETBULK may be cut (RFC 3416 4.2.2, 4.2.3)") {
  CHECK(answer_to(SNMP_MSG_GETNEXT, {first, second}, {second, third}));
  CHECK(bad(answer_to(SNMP_MSG_GETNEXT, {first, second}, {second})));
  CHECK(answer_to(SNMP_MSG_GETBULK, {first, second}, {second}));
  CHECK(answer_to(SNMP_MSG_GETBULK, {first, second}, {}));
}

TEST_CASE("a SET that was done is not called failed for what its response repeats") {
  CHECK(answer_to(SNMP_MSG_SET, {first, second}, {first}));
  CHECK(answer_to(SNMP_MSG_SET, {first, second}, {}));
}

TEST_CASE("an error-status tells its object, whatever the error-index") {
  const auto refused = [](long status, long index) {
    const Pdu pdu = response_of({});
    pdu->errstat = status;
    pdu->errindex = index;
    return read_response(request_for(SNMP_MSG_SET, {first, second}), *pdu).error();
  };
  CHECK(refused(SNMP_ERR_WRONGVALUE, 2).text == "the unit answered wrongValue for " + second.str());
  CHECK(refused(SNMP_ERR_WRONGVALUE, 2).index == 2);
  CHECK(refused(SNMP_ERR_GENERR, 0).text == "the unit answered genErr");
  CHECK(refused(SNMP_ERR_GENERR, -7).text == "the unit answered genErr");
  CHECK(refused(SNMP_ERR_GENERR, 99).text == "the unit answered genErr for variable binding 99");
  CHECK(refused(SNMP_ERR_TOOBIG, 0).failure == Failure::too_big);
  CHECK(refused(SNMP_ERR_NOACCESS, 1).failure == Failure::no_access);
  CHECK(refused(200, 1).text == "the unit answered unknown error-status for " + first.str());
}

TEST_CASE("values of every type cross the wire as they are") {
  std::vector<VarBind> sent;
  const auto add = [&](Value value) {
    sent.push_back({first.child(static_cast<std::uint32_t>(sent.size())), std::move(value)});
  };
  for (const std::int64_t number : {-2147483648LL, -1LL, 0LL, 127LL, 128LL, 2147483647LL})
    add(Value::integer(number));
  for (const Type type : {Type::counter32, Type::gauge32, Type::time_ticks}) {
    for (const std::int64_t number : {0LL, 2147483648LL, 4294967295LL}) add(Value::of_number(type, number));
  }
  for (const std::int64_t number : {0LL, 4294967296LL, -1LL}) add(Value::of_number(Type::counter64, number));
  for (const std::string& octets : {std::string(), std::string("\0\xff", 2), std::string(300, 'x')}) {
    add(Value::of_octets(octets));
    add({Type::opaque, 0, octets, {}});
  }
  add({Type::ip_address, 0, std::string("\x7f\0\0\1", 4), {}});
  add(Value::of_oid({1, 0, 15628, 4, 1, 6, 4294967295U}));
  add(Value::of_oid({0, 0}));
  add({});
  const Pdu received = travelled(response_of(sent));
  const Answer answer = read_response(request_for(SNMP_MSG_GETBULK, {first}), *received);
  REQUIRE(answer);
  REQUIRE(answer.varbinds().size() == sent.size());
  for (std::size_t i = 0; i < sent.size(); ++i) {
    INFO(smi::type_name(sent[i].value.type) << " " << smi::exact_text(sent[i].value));
    CHECK(answer.varbinds()[i] == sent[i]);
  }
}

TEST_CASE("a number in an Opaque keeps its octets") {
  // net-snmp's float, double, counter64, int64 and uint64 (draft-perkins-float, as its asn1.h has them)
  for (const char* hex : {"9f78043fc00000", "9f79083ff8000000000000", "9f760103", "9f7a01fd", "9f7b0103",
                          "9f7b0900ffffffffffffffff", "9f99043fc00000"}) {
    INFO(hex);
    const VarBind sent{first, {Type::opaque, 0, *smi::from_hex(hex), {}}};
    const Pdu received = travelled(response_of({sent}));
    const Answer answer = read_response(request_for(SNMP_MSG_GET, {first}), *received);
    REQUIRE(answer);
    CHECK(smi::to_hex(answer.varbinds()[0].value.octets) == hex);
    CHECK(answer.varbinds()[0] == sent);
  }
}

TEST_CASE("a value of a type that SNMP no longer has is a bad answer that names its object") {
  const Pdu pdu = response_of({{first, Value::integer(1)}, {second, Value::integer(2)}});
  pdu->variables->next_variable->type = ASN_UINTEGER;
  const Answer answer = read_response(request_for(SNMP_MSG_GET, {first, second}), *pdu);
  REQUIRE(bad(answer));
  CHECK(answer.error().index == 2);
  CHECK(answer.error().text.find(second.str()) != std::string::npos);
}
