#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "marks.h"

/// The key changes (RFC 3414 5, KeyChange) in what was sent. Who has the keys of before reads the new ones
/// out of such a value, so it is as secret as they are; and since it is made of chance, it is known only from
/// the message that carried it, opened with the keys that the marks tell.
namespace marks {

/// The values for usmUserAuthKeyChange, usmUserOwnAuthKeyChange, usmUserPrivKeyChange and
/// usmUserOwnPrivKeyChange in an SNMPv3 message under AES-128 (RFC 3826); nothing in anything else.
std::vector<std::string> key_changes_in(std::string_view message, const Marks& marks);

}  // namespace marks
