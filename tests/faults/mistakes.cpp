#include "mistakes.h"

namespace vergeset::faults {

using records::Mistake;

const std::vector<std::pair<std::string_view, Mistake>>& mistakes() {
  static const std::vector<std::pair<std::string_view, Mistake>> all{
      {"skip_sync", Mistake::skip_sync},
      {"send_before_journal", Mistake::send_before_journal},
      {"resend_blindly", Mistake::resend_blindly},
      {"lost_is_done", Mistake::lost_is_done},
      {"half_made_is_done", Mistake::half_made_is_done},
      {"trust_response", Mistake::trust_response},
      {"trust_restore", Mistake::trust_restore},
      {"restore_forward", Mistake::restore_forward},
      {"restore_stops", Mistake::restore_stops},
      {"forget_operate", Mistake::forget_operate},
      {"no_wait_for_mode", Mistake::no_wait_for_mode},
      {"fault_is_operate", Mistake::fault_is_operate},
      {"go_on_after_failure", Mistake::go_on_after_failure},
      {"any_unit", Mistake::any_unit},
      {"rows_half_kept", Mistake::rows_half_kept},
      {"no_serial", Mistake::no_serial},
      {"no_fence", Mistake::no_fence},
      {"disk_is_fine", Mistake::disk_is_fine},
      {"failed_is_refused", Mistake::failed_is_refused},
      {"all_in_standby", Mistake::all_in_standby},
      {"wait_for_ever", Mistake::wait_for_ever},
      {"recover_nothing", Mistake::recover_nothing},
      {"recover_trusts_results", Mistake::recover_trusts_results},
      {"apply_over_unfinished", Mistake::apply_over_unfinished},
  };
  return all;
}

const std::vector<std::pair<std::string_view, Mistake>>& mistakes_of_keys() {
  static const std::vector<std::pair<std::string_view, Mistake>> all{
      {"skip_sync", Mistake::skip_sync},
      {"send_before_journal", Mistake::send_before_journal},
      {"resend_blindly", Mistake::resend_blindly},
      {"trust_response", Mistake::trust_response},
      {"trust_restore", Mistake::trust_restore},
      {"no_fence", Mistake::no_fence},
      {"recover_nothing", Mistake::recover_nothing},
  };
  return all;
}

std::optional<Mistake> mistake_named(std::string_view name) {
  for (const auto* const list : {&mistakes(), &mistakes_of_keys()}) {
    for (const auto& [known, mistake] : *list) {
      if (known == name) return mistake;
    }
  }
  return std::nullopt;
}

}  // namespace vergeset::faults
