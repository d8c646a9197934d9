// A work order. Its digest is made to fit, which no fuzzer would guess: what is inside must be as safe from
// whoever can make a digest.
//
// About: src/change/work_order.cpp src/change/goal.cpp

#include "change/goal.h"
#include "change/work_order.h"
#include "fuzz/larkmoor.h"
#include "records/change_record.h"

using namespace vergeset;

FUZZ_TARGET(work_order) {
  const auto unsealed = change::order_from_yaml(std::string(input));
  if (!unsealed) fuzz::must_explain(unsealed.problem());
  std::string body(input.substr(0, input.rfind("# digest: ")));
  const auto order = change::order_from_yaml(body + "# digest: " + records::sha256(body) + "\n");
  if (!order) return fuzz::must_explain(order.problem());
  const std::string text = change::to_yaml(*order);
  const auto again = change::order_from_yaml(text);
  fuzz::must(again && change::to_yaml(*again) == text, "a work order reads back the same", text);
  for (const change::OrderedUnit& ordered : order->units) {
    for (const fleet::Unit& unit : fuzz::larkmoor().units) {
      const change::AsFound nothing;
      const change::Goal goal = change::goal_of_order(fuzz::larkmoor(), unit, ordered);
      goal.compare(nothing);
      if (!goal.objection) continue;
      if (const auto objection = goal.objection(nothing)) fuzz::must_explain(*objection);
    }
  }
}
