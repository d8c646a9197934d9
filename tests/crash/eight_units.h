#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "child.h"
#include "support/fleet_folder.h"

namespace crash {

/// Four units of each standard at addresses of their own, served by roadside-sim as the files of `before`
/// ask, and the files of `after` that a change brings them to: values on air, a row made, one changed, one
/// removed, radios that need standby. One unit of each standard is in standby and stays there. As often as
/// wanted they start over: nothing but what `before` asks is left then.
class EightUnits {
 public:
  /// `lane`: which of the sets of addresses, for tests side by side.
  explicit EightUnits(int lane, int transition_ms = 50);
  ~EightUnits();
  EightUnits(const EightUnits&) = delete;
  EightUnits& operator=(const EightUnits&) = delete;

  static const std::vector<std::string>& names();

  /// All units as before any change, none of their SETs counted, and an empty folder of records.
  void start_over() const;
  /// Every value of the unit that a change here touches, its rows and its mode, as net-snmp's snmpget and
  /// snmpbulkget read them.
  std::string reading(const std::string& unit) const;
  std::map<std::string, std::string> readings() const;
  /// SETs that all units have got.
  int sets() const;
  void tell(const std::string& unit, const std::string& line) const;
  std::string asked(const std::string& unit, const std::string& line) const;

  /// `vergeset WORDS...` on `after`, with these records.
  Ended vergeset(std::vector<std::string> words, const Environment& more = {}) const;
  std::unique_ptr<Child> begin_vergeset(std::vector<std::string> words, const Environment& more = {}) const;

  std::string records() const { return folder_.path() + "/records"; }
  std::string path(const std::string& name) const { return folder_.path() + "/" + name; }

 private:
  std::string place(const std::string& unit) const;
  std::string control(const std::string& unit) const;
  std::vector<std::string> words_of(std::vector<std::string> words) const;

  int lane_;
  vergeset::test::FleetFolder folder_;
  std::unique_ptr<Child> simulator_;
};

}  // namespace crash
