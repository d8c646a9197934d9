// The codecs: a syntax in the notation of model files, a text that a person wrote for it, and octets that a
// unit answered, one line each; the octets of a number are the number.
//
// About: src/smi

#include "fuzz/fuzz.h"
#include "smi/syntax.h"

using namespace vergeset;

namespace {

/// What must hold of what a person wrote.
void must_encode(const smi::Syntax& syntax, const std::string& text) {
  const auto value = smi::encode(syntax, text);
  if (!value) return fuzz::must_explain(value.problem());
  fuzz::must(value->type == syntax.wire(), "a value has the type of its syntax", text);
  fuzz::must(!smi::violation(syntax, *value), "what is encoded is allowed", text);
  const std::string words = smi::to_text(syntax, *value);
  const auto again = smi::encode(syntax, words);
  fuzz::must(again && *again == *value, "what was written reads back the same", words);
}

/// What must hold of what came over the wire.
void must_decode(const smi::Syntax& syntax, const smi::Value& value) {
  const std::string exact = smi::exact_text(value);
  const auto read = smi::from_exact_text(value.type, exact);
  fuzz::must(read && *read == value, "a value reads back exactly", exact);
  const std::string words = smi::to_text(syntax, value);
  fuzz::must(fuzz::safe_to_show(words), "a value is safe to show", words);
  fuzz::must(smi::agree(syntax, value, value), "a value agrees with itself", words);
  if (const auto fault = smi::violation(syntax, value)) return fuzz::must_explain(*fault);
  // A unit may hold control characters in a text, which no person may write.
  if (syntax.form == smi::Form::display_string) return;
  const auto again = smi::encode(syntax, words);
  // 20::0 is 20:: in its canonical spelling, which SIZE(5..64) does not take.
  if (!again && syntax.form == smi::Form::address_text && !syntax.ranges.empty()) return;
  fuzz::must(again && smi::agree(syntax, value, *again), "what was found can be written", words);
  fuzz::must(smi::agree(syntax, *again, value), "agreeing goes both ways", words);
}

smi::Value as_found(smi::Type type, std::string_view octets) {
  smi::Value value;
  value.type = type;
  switch (type) {
    case smi::Type::octet_string:
    case smi::Type::opaque:
      value.octets = std::string(octets);
      return value;
    case smi::Type::ip_address:
      value.octets = std::string(octets.substr(0, 4));
      value.octets.resize(4);
      return value;
    case smi::Type::object_id: {
      std::vector<std::uint32_t> arcs{1, 3};
      for (const char c : octets.substr(0, 100)) arcs.push_back(static_cast<unsigned char>(c) * 16843009U);
      value.oid = smi::Oid(arcs);
      return value;
    }
    default:
      break;
  }
  if (value.absent() || type == smi::Type::null) return value;
  std::uint64_t number = 0;
  for (const char c : octets.substr(0, 8)) number = number << 8 | static_cast<unsigned char>(c);
  value.number = static_cast<std::int64_t>(number);
  if (type == smi::Type::integer) value.number = static_cast<std::int32_t>(number);
  if (type != smi::Type::integer && type != smi::Type::counter64)
    value.number = static_cast<std::uint32_t>(number);
  return value;
}

}  // namespace

FUZZ_TARGET(values) {
  const std::string notation(fuzz::take_line(input));
  const std::string text(fuzz::take_line(input));
  const auto syntax = smi::Syntax::parse(notation);
  if (!syntax) return fuzz::must_explain(syntax.problem());
  const auto again = smi::Syntax::parse(syntax->str());
  fuzz::must(again && *again == *syntax, "a syntax reads back the same", notation);
  must_encode(*syntax, text);
  must_decode(*syntax, as_found(syntax->wire(), input));
  for (const smi::Type type : {smi::Type::integer, smi::Type::octet_string, smi::Type::counter64,
                               smi::Type::object_id, smi::Type::opaque, smi::Type::no_such_instance})
    must_decode(*syntax, as_found(type, input));
}
