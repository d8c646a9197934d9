#include "cli/common.h"

#include <iterator>

namespace vergeset::cli {

Section section_of(Common& common) {
  return {"Every command",
          {{"--fleet", "DIR", "the fleet's folder (default: here)", &common.fleet},
           {"--records", "DIR", "its records (default: its folder records)", &common.records},
           {"--json", "", "one JSON document instead of text", &common.json}}};
}

Option accept_option(bool& accept) {
  return {"--accept-replacement", "", "named units have been replaced: know the new ones", &accept};
}

std::vector<Option> options_of(Pace& pace) {
  return {{"--at-once", "N", "", &pace.at_once},
          {"--quiet", "", "units in hand (default: 256); no progress", &pace.quiet}};
}

std::vector<Option> with(std::vector<Option> own, std::vector<Option> more) {
  own.insert(own.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
  return own;
}

std::vector<Option> choice_options(fleet::Choice& choice) {
  return {{"--group", "G", "", &choice.groups},
          {"--model", "M", "units of this group, of this model; may be repeated", &choice.models},
          {"--except", "UNIT", "not these; names or patterns", &choice.except},
          {"--part", "K/N", "the K-th of N stable parts, one for each host", &choice.part}};
}

Section section_of(fleet::Choice& choice) {
  Section section{"Which units",
                  {{"UNIT", "", "names, or patterns with * and ? (default: all)", &choice.names}}};
  for (Option& option : choice_options(choice)) section.options.push_back(std::move(option));
  return section;
}

}  // namespace vergeset::cli
