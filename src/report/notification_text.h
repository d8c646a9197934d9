#pragma once

#include <string>

#include "report/json.h"
#include "schema/model.h"
#include "snmp/notification.h"

namespace vergeset::report {

/// What a unit said unasked, in the words of its model. Bounded and inert whatever the unit sent: ten
/// variables are told, each in 120 octets at most. A community, and what tells of a key, is not shown.
struct NotificationWords {
  std::string name;  ///< "linkDown"; the identifier where the model has no name for it
  std::string what;  ///< "ifIndex.3 = 3, ifOperStatus.3 = down"; empty where nothing is told
  /// The line of a log: "notification linkDown: ifIndex.3 = 3; an interface goes out of service (inform)"
  std::string line;
};
NotificationWords notification_words(const schema::Model& model, const snmp::Notification& notification);

/// `name`, `oid`, `kind`, `up_s`, `variables` (`object`, `oid`, `words`, `type`, `value`), `left_out` (how
/// many more variables came).
Json notification_json(const schema::Model& model, const snmp::Notification& notification);

}  // namespace vergeset::report
