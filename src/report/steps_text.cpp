#include "report/steps_text.h"

#include <fmt/format.h>

#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

/// When a step is carried out, as far as it tells a reader something.
std::string when(const change::Step& step, const change::Sequence& sequence) {
  if (step.kind != change::Step::Kind::set) return {};
  if (step.cuts_off) return ", can cut this manager off";
  if (step.standby) return ", in standby";
  return sequence.leaves_operate ? ", on air" : "";
}

}  // namespace

std::string assignment_text(const Screen& screen, const change::Assignment& one) {
  const std::string exact = smi::exact_text(one.value);
  switch (one.syntax.form) {
    case smi::Form::octets:
      return value_text(screen, one.syntax, {}, one.value);
    case smi::Form::enumeration:
      return fmt::format("{}({})", one.text, exact);
    case smi::Form::integer:
      // "15 m" is 15, "54.9002960 deg" is not.
      return one.text.substr(0, one.text.find(' ')) == exact ? one.text
                                                             : fmt::format("{} ({})", one.text, exact);
    case smi::Form::psid:
      return fmt::format("{} (octets {})", one.text, exact);
    default:
      return one.text.empty() ? "(empty)" : one.text;
  }
}

std::string off_air_text(const change::Sequence& sequence) {
  if (sequence.ends_off_air) return "will be left off air, in standby";
  if (!sequence.leaves_operate) return "no time off air";
  return "off air for about " + seconds_text(change::expected_off_air_s(sequence));
}

std::string steps_text(const Screen& screen, const change::Sequence& sequence) {
  std::string out;
  for (std::size_t i = 0; i < sequence.steps.size(); ++i) {
    const change::Step& step = sequence.steps[i];
    out += paragraph(
        screen,
        fmt::format("step {} of {}{}: {}", i + 1, sequence.steps.size(), when(step, sequence), step.about),
        2);
    for (const change::Assignment& one : step.assignments) {
      out += paragraph(screen, fmt::format("{} = {}", one.name, assignment_text(screen, one)), 4);
    }
  }
  return out + paragraph(screen, off_air_text(sequence), 2);
}

}  // namespace vergeset::report
