#include "snmp/local_engine.h"

#include "snmp/ber.h"

namespace vergeset::snmp {

namespace {

using namespace std::string_view_literals;

constexpr unsigned char get_tag = 0xa0;  // RFC 3416 3
constexpr unsigned char answer_tag = 0xa2;
constexpr unsigned char name_tag = 0x06;
constexpr std::string_view local_engine = "\x80\x00\x00\x00\x06"sv;                       // RFC 5343 3.1
constexpr std::string_view engine_object = "\x2b\x06\x01\x06\x03\x0a\x02\x01\x01\x00"sv;  // RFC 3411
constexpr std::string_view no_such_object = "\x80\x00"sv;                                 // RFC 3416 3

}  // namespace

std::string local_engine_answer(const ScopedPdu& asked, std::string_view engine_id) {
  if (asked.context_engine != local_engine) return {};
  ber::Reader whole(asked.pdu);
  ber::Reader pdu(whole.take(get_tag));
  const std::int64_t request = pdu.take_number();
  pdu.take_number();  // error-status and error-index, without sense in a Get
  pdu.take_number();
  ber::Reader list(pdu.take(ber::sequence));
  std::string binds;
  while (!list.rest().empty() && !list.bad()) {
    ber::Reader bind(list.take(ber::sequence));
    const std::string_view name = bind.take(name_tag);
    if (bind.bad()) return {};
    binds += ber::tagged(ber::sequence, ber::tagged(name_tag, name) +
                                            (name == engine_object ? ber::tagged(ber::octet_string, engine_id)
                                                                   : std::string(no_such_object)));
  }
  if (whole.bad() || pdu.bad() || list.bad()) return {};
  constexpr std::size_t most = 8192;  // a Get of one object is asked with; room for what is around it
  if (binds.size() > most) return {};
  const std::string content = ber::number(request) + ber::number(0) + ber::number(0);
  return scoped_pdu(local_engine, ber::tagged(answer_tag, content + ber::tagged(ber::sequence, binds)));
}

}  // namespace vergeset::snmp
