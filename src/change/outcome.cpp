#include "change/outcome.h"

namespace vergeset::change {

std::string_view outcome_name(Outcome outcome) {
  switch (outcome) {
    case Outcome::settled:
      return "settled";
    case Outcome::nothing_to_do:
      return "nothing to do";
    case Outcome::restored:
      return "restored";
    case Outcome::refused:
      return "refused";
    case Outcome::no_answer:
      return "no answer";
    case Outcome::held:
      return "held";
    case Outcome::needs_attention:
      break;
  }
  return "needs attention";
}

}  // namespace vergeset::change
