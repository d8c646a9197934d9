#include "report/rekey_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "report/change_text.h"
#include "report/comparison_text.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using change::Outcome;
using change::Preview;

const std::vector<std::string> outcomes = {"would change", "nothing to do", "refused", "no answer"};

bool would_change(const Preview& preview) {
  return preview.result.outcome == Outcome::settled;
}

std::string words_of(const std::vector<Preview>& previews) {
  std::vector<std::string> words;
  for (const Preview& preview : previews)
    words.push_back(would_change(preview) ? "would change"
                                          : std::string(outcome_name(preview.result.outcome)));
  return summary(outcomes, words);
}

std::string plan_text(const Screen& screen, const Preview& preview) {
  if (!would_change(preview)) {
    std::string out = unit_line(screen, *preview.unit, std::string(outcome_name(preview.result.outcome)));
    return preview.result.what.empty() ? out : out + paragraph(screen, preview.result.what, 2);
  }
  std::string out = unit_line(screen, *preview.unit, "opened by " + preview.opener);
  const std::vector<change::Step>& steps = preview.result.sequence.steps;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    out += paragraph(screen, fmt::format("step {} of {}: {}", i + 1, steps.size(), steps[i].about), 2);
  }
  return out;
}

}  // namespace

std::string rekey_dry_run_text(const Screen& screen, const std::vector<Preview>& previews) {
  std::string out;
  for (const Preview& preview : previews) {
    if (preview.result.outcome != Outcome::nothing_to_do) out += plan_text(screen, preview) + "\n";
  }
  return out + words_of(previews) + "; no SET was sent\n";
}

std::string rekey_preview_text(const Screen& screen, const std::vector<Preview>& previews,
                               const std::vector<std::size_t>& waves) {
  std::string out;
  int name_width = 0;
  for (const Preview& preview : previews) name_width = std::max(name_width, text_width(preview.result.unit));
  std::map<std::string, std::size_t> openers;
  for (const Preview& preview : previews) {
    if (would_change(preview)) {
      ++openers[preview.opener];
    } else if (preview.result.outcome != Outcome::nothing_to_do) {
      out += unit_end_text(screen, name_width, preview.result);
    }
  }
  if (openers.empty()) return out;
  out += words_of(previews) + "\n";
  Table table(2, {"opened now by", "units"});
  for (const auto& [opener, units] : openers) table.add({opener, std::to_string(units)});
  out += table.text(screen);
  return out + in_waves_text(screen, waves);
}

std::string rekey_caution_text(const Screen& screen, const std::vector<Preview>& previews) {
  const auto count = static_cast<std::size_t>(std::count_if(previews.begin(), previews.end(), would_change));
  if (count == 0) return {};
  return paragraph(
      screen, fmt::format("{} {} other keys. What opened them before will not. Every key is in the key "
                          "store before it is sent: keep that safe, and a copy of it, for a unit whose keys "
                          "are lost wants a visit.",
                          counted(count, "unit"), count == 1 ? "gets" : "get"));
}

}  // namespace vergeset::report
