#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "fleet/layer.h"
#include "fleet/names.h"
#include "fleet/payload_file.h"
#include "fleet/unit_faults.h"
#include "fleet/value_for.h"

namespace vergeset::fleet {

/// A block of a file, as one unit sees it. Files of one level are equals; within a file, `only:`
/// stands behind the plain block and so is stronger.
struct Source {
  const Block* block = nullptr;
  const SharedText* layer = nullptr;
  int level = 0;
  int file = 0;
  bool lasting = false;  ///< stays where it is until all units are read; a unit's own does not
};

class Settled;

/// What the files are read with, for one unit.
struct Reading {
  const Unit& unit;
  const schema::Schema& schema;
  const Names& names;
  Payloads& payloads;
  UnitFaults& faults;
  Settled& settled;

  void fault(const Place& place, const std::string& text, const std::string& same_as = {}) const {
    faults.add(unit, place, text, same_as);
  }
};

/// One source's say on one object.
struct Ask {
  const Source* source = nullptr;
  const Written* written = nullptr;
  Meaning meaning;
  SharedText name{};  ///< what is written, for all values that it comes to
  SharedText text{};

  Asked asked() const { return {written->place, *source->layer, text}; }
};

/// As a source has it; what it means is still open.
inline Ask ask_of(const Source& source, const Written& written) {
  return {&source, &written, {}, written.name, written.text};
}

/// One source's say on what is no object: `others`, `present`, how a row is found, a trait.
struct Say {
  const Source* source = nullptr;
  Place place;
  std::string text;
  const RowBlock* row = nullptr;
};

/// Of all that was said, weakest first: the last word of each file of the strongest level. More than
/// one where equals have a say.
template <class T>
std::vector<const T*> strongest(const std::vector<T>& said) {
  std::vector<const T*> top;
  for (auto one = said.rbegin(); one != said.rend(); ++one) {
    if (one->source->level != said.back().source->level) break;
    if (top.empty() || top.back()->source->file != one->source->file) top.push_back(&*one);
  }
  return top;
}

/// The strongest of what was said. Equals that say different things are a fault naming `what`.
const Say& settle(const Reading& reading, const std::string& what, const std::vector<Say>& said);

/// The value that the asks for one object come to, shared with other units where they ask the same; nothing
/// where it has a fault.
std::shared_ptr<const DesiredValue> settle(const Reading& reading, const std::vector<Ask>& asks);

/// The message id that the asks for a `from_payload` column come to.
std::optional<std::int64_t> settle_message(const Reading& reading, const std::vector<Ask>& asks);

/// Adds an ask. A second one from the same block, under another name of the same object, is a fault.
void add_ask(const Reading& reading, std::vector<Ask>& asks, const Ask& ask);

}  // namespace vergeset::fleet
