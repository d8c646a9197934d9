// The record of an audit.
//
// About: src/records/audit_record.cpp

#include "fuzz/fuzz.h"
#include "records/audit_record.h"

using namespace vergeset;

FUZZ_TARGET(audit) {
  const auto audit = records::audit_from_json(std::string(input));
  if (!audit) return fuzz::must_explain(audit.problem());
  const std::string text = records::to_json(*audit);
  const auto again = records::audit_from_json(text);
  fuzz::must(again && *again == *audit, "an audit reads back the same", text);
}
