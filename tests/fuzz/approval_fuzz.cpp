// An approval. Its digest is made to fit, which no fuzzer would guess.
//
// About: src/change/approval.cpp src/records/sealed.cpp

#include "change/approval.h"
#include "fuzz/fuzz.h"
#include "records/sealed.h"

using namespace vergeset;

FUZZ_TARGET(approval) {
  const auto unsealed = change::approval_from_yaml(std::string(input));
  if (!unsealed) fuzz::must_explain(unsealed.problem());
  const auto approval = change::approval_from_yaml(records::sealed(std::string(input)));
  if (!approval) return fuzz::must_explain(approval.problem());
  const auto again = change::approval_from_yaml(change::to_yaml(*approval));
  fuzz::must(again && *again == *approval, "an approval reads back the same");
}
