#pragma once

#include <limits>
#include <string_view>
#include <vector>

#include "schema/yaml.h"

namespace vergeset::fleet {

/// What findings are measured against: the thresholds of a fleet, in the units of limit_names().
struct Limits {
  double cable_run_m = 100;
  double supply_low_v = 37;
  double supply_high_v = 57;
  double bond_ohm = 1;
  double earth_ohm = 25;
  double apart_m = 1;
  /// EIRP that the licence allows, dBm; infinite where the fleet states none.
  double transmit_power_dbm = std::numeric_limits<double>::infinity();
  double satellites = 4;
  double temperature_low = -34;  ///< degree C
  double temperature_high = 74;
  double enrolment_left_days = 30;
  double certificate_left_h = 24;
  double restarts = 3;
  double restarts_within_days = 7;
  double messages_sent_percent = 1;  ///< of those that are due
  double position_off_m = 15;
  double reference_off_m = 5;
  double height_off_m = 30;
  double position_error_m = 20;
  double message_place_m = 200;
  double delivery_ends_days = 30;
  double channel_load = 30;  ///< percent of a channel's time
  /// What a unit forwards at once comes from elsewhere: how often, and how long it is, must be stated.
  double forward_rate = 10;  ///< a second
  double forward_octets = 300;
};

/// One of them as fleet.yaml calls it under `limits:`.
struct Limit {
  std::string_view name;
  std::string_view unit;
  double low;
  double high;
  double Limits::*number;
  std::string_view meaning;
};

const std::vector<Limit>& limit_names();

/// `limits:`; what is not stated there is as usual.
Limits read_fleet_limits(const schema::Entry& entry);

}  // namespace vergeset::fleet
