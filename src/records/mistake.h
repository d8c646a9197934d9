#pragma once

#include <string_view>

namespace vergeset::records {

/// Mistakes that the search for failures (tests/faults) has to find: a search that finds nothing proves
/// something only where it would have found these. They exist where VERGESET_MISTAKES is defined, which the
/// search's own build of records/ and change/ does and no program that is installed; elsewhere makes() is
/// false, and the compiler leaves out what hangs on it.
enum class Mistake {
  none,
  skip_sync,               ///< lines of the journal are not synced
  send_before_journal,     ///< the SET leaves before its line is on disk
  resend_blindly,          ///< a SET without a response is sent again and not read back
  lost_is_done,            ///< a SET without a response counts as carried out
  half_made_is_done,       ///< a row that is there without its columns counts as made
  trust_response,          ///< the unit is not read anew after its SETs
  trust_restore,           ///< ... nor after it was put back
  restore_forward,         ///< as found is put back in the order of the change
  restore_stops,           ///< putting back ends at the first step that fails
  forget_operate,          ///< a unit that was put back is not asked to operate
  no_wait_for_mode,        ///< a mode that is asked for counts as reached
  fault_is_operate,        ///< a unit in fault counts as operating
  go_on_after_failure,     ///< a step that fails does not end the sequence
  any_unit,                ///< whoever answers at the address is the unit
  rows_half_kept,          ///< a snapshot keeps of a row only what differs
  no_serial,               ///< snmpSetSerialNo is left out of SETs
  no_fence,                ///< a SET that is still under way may arrive after the unit was verified
  disk_is_fine,            ///< what the disk fails to write is passed over
  failed_is_refused,       ///< a unit that failed after its first SET counts as untouched
  all_in_standby,          ///< what could be set on air is set in standby
  wait_for_ever,           ///< a mode is waited for without limit
  recover_nothing,         ///< recover ends each unit as restored and does not look
  recover_trusts_results,  ///< recover takes a step without a result as not sent
  apply_over_unfinished,   ///< apply begins though a change has not ended
};

#ifdef VERGESET_MISTAKES
/// The one that is made; set by the search between its runs.
extern Mistake mistake;
/// Of another name to the linker than the one below, beside which it stands in one program.
inline namespace on_purpose {
inline bool makes(Mistake one) {
  return mistake == one;
}
}  // namespace on_purpose
#else
constexpr bool makes(Mistake) {
  return false;
}
#endif

}  // namespace vergeset::records
