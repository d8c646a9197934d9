#pragma once

#include <set>
#include <string>
#include <vector>

#include "smi/mib.h"

namespace vergeset::snmp {

/// Takes what net-snmp's parser logs apart: its only way to say what is wrong with a file is a line such as
/// `Bad format (foo): At line 12 in FILE`.
class MibLog {
 public:
  void add(const std::string& line);

  /// What is wrong with the given files, and what was found of other files. A complaint about an identifier
  /// that a later file brought is none.
  void tell(const std::vector<std::string>& files, smi::Mib& mib) const;

 private:
  std::vector<smi::MibFault> faults_;
  std::vector<smi::MibFault> undefined_;  ///< text: the identifier
  std::set<std::string> never_defined_;
  std::vector<std::string> notes_;
};

}  // namespace vergeset::snmp
