// Lines of control for a simulated unit, one after the other.
//
// About: src/sim/control.cpp src/sim/store.cpp src/sim/store_change.cpp src/sim/store_moving.cpp
// About: src/sim/row_status.cpp

#include "fuzz/simulated.h"
#include "sim/control.h"

using namespace vergeset;

FUZZ_TARGET(control) {
  static const sim::SimUnit ntcip = fuzz::factory_unit("ntcip1218-v01");
  static const sim::SimUnit rsu = fuzz::factory_unit("rsu-4.1");
  sim::SimUnit unit = fuzz::take_octet(input) % 2 == 0 ? ntcip : rsu;
  std::int64_t now = fuzz::moment;
  for (int lines = 0; lines < 50 && !input.empty(); ++lines) {
    const std::string_view line = fuzz::take_line(input);
    const std::string answer = sim::obey(unit, line, now += 500);
    fuzz::must(!answer.empty() && answer.back() == '\n', "each line of control is answered", line);
    fuzz::must(fuzz::safe_to_show(answer), "an answer is safe to show", answer);
    if (const auto reboot = unit.take_reboot()) unit.reboot(*reboot, now);
  }
  for (const sim::VarBind& bind : unit.store.walk(now)) {
    const schema::Object* object = unit.store.model().object_at(bind.oid);
    fuzz::must(object != nullptr && bind.value.type == object->syntax.wire(),
               "whatever a hand does, a unit's values are of their objects' types", bind.oid.str());
  }
}
