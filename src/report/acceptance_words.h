#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/acceptance.h"

/// What the acceptance sheet says in the same words as text and as a page.
namespace vergeset::report {

/// What stands against accepting the unit, one reason a text: stages that have not passed, findings that are
/// errors. Empty where it may be accepted.
std::vector<std::string> against_acceptance(const Acceptance& sheet);

/// "may be accepted: every stage has passed and no finding is an error", or "not to be accepted yet: ...".
std::string verdict_text(const Acceptance& sheet);

/// Open findings, the most serious first.
std::vector<checks::Finding> open_findings(const Acceptance& sheet);
/// "3 (1 error, 2 warnings)", "none".
std::string open_findings_count(const Acceptance& sheet);

/// Who the sheet is about: fleet, model, address, firmware, number and times, each by its name.
std::vector<Acceptance::Field> identity(const Acceptance& sheet);

/// The fields of the site record that say something, with what was measured at the pole behind the record;
/// `measured` is empty in all of them.
std::vector<Acceptance::Field> recorded(const Acceptance& sheet);
/// The names of the others: "injector, antennas". Empty where there are none.
std::string not_recorded(const Acceptance& sheet);

/// Who signs.
const std::vector<std::string_view>& signers();

/// Where the whole of the commissioning stands: "records/changes/0042".
std::string records_place(const Acceptance& sheet);

/// At most so many characters; where the text has more, `end` stands for the rest.
std::string shortened_to(const std::string& text, std::size_t most, std::string_view end);

}  // namespace vergeset::report
