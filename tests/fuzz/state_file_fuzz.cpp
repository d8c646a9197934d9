// The state of a simulated unit on disk.
//
// About: src/sim/state_file.cpp src/sim/store_change.cpp

#include "fuzz/simulated.h"
#include "sim/state_file.h"

using namespace vergeset;

FUZZ_TARGET(state_file) {
  static const sim::SimUnit factory = fuzz::factory_unit("ntcip1218-v01");
  sim::Store store = factory.store;
  const auto boots = sim::load_state(store, std::string(input), fuzz::moment);
  if (!boots) return fuzz::must_explain(boots.problem());
  const std::string text = sim::state_text(store, *boots);
  sim::Store other = factory.store;
  const auto again = sim::load_state(other, text, fuzz::moment);
  fuzz::must(again && *again == *boots, "a state that was written is read", text);
  fuzz::must(sim::state_text(other, *again) == text, "a state reads back the same", text);
}
