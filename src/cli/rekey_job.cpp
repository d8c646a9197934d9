#include "cli/rekey_job.h"

#include "report/rekey_text.h"

namespace vergeset::cli {

Job rekey_job(Live& live, const std::vector<change::KeyGoal>& goals, const change::KeyTools& tools,
              const Pace& pace) {
  Job job;
  job.preview = [&live, &goals, &tools, &pace](const std::string&) {
    const Watching watching(live, goals.size(), pace);
    return change::rekey_preview(live.world, goals, tools, pace.at_once);
  };
  job.apply = [&live, &goals, &tools](const std::vector<change::Preview>& previews,
                                      const change::ApplyOptions& how) {
    return change::rekey(live.world, goals, previews, tools, how);
  };
  job.dry_run_text = report::rekey_dry_run_text;
  job.preview_text = report::rekey_preview_text;
  job.caution = report::rekey_caution_text;
  job.always_asks = true;
  job.unasked = "keys would be changed";
  return job;
}

}  // namespace vergeset::cli
