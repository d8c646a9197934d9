#pragma once

#include <optional>
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
  /// `name ::= { above n }` of a module, where `above` stands nowhere when all files are read.
  struct Homeless {
    std::string module;
    std::string name;
    std::string above;
  };
  static std::optional<Homeless> homeless_in(const std::string& line);
  void tell_homeless(smi::Mib& mib) const;

  std::vector<smi::MibFault> faults_;
  std::vector<smi::MibFault> undefined_;  ///< text: the identifier
  std::vector<Homeless> homeless_;
  std::vector<std::string> notes_;
};

}  // namespace vergeset::snmp
