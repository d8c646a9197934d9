#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <variant>
#include <vector>

namespace vergeset::cli {

/// One word that a command takes: an option ("--why"), or one without dashes ("UNIT"), and where what
/// was given goes.
struct Option {
  std::string name;
  std::string value;  ///< what stands behind it: "TEXT"; empty where nothing does
  std::string help;   ///< empty: told with the option behind it, on one line of the help
  std::variant<bool*, std::string*, std::size_t*, std::vector<std::string>*> target;
  bool required = false;

  bool dashed() const { return name.front() == '-'; }
};

/// Options under a heading of the help; an empty heading for a command's own.
struct Section {
  std::string heading;
  std::vector<Option> options;
};

/// A command of the program. Its options point into what `run` holds.
struct Command {
  std::string name;
  std::string about;
  std::vector<Section> sections;
  std::string example;
  std::function<int()> run;  ///< the exit status
};

Command check_command();
Command import_command();
Command new_command();
Command units_command();
Command where_command();
Command reach_command();
Command survey_command();
Command diff_command();
Command draft_command();
Command apply_command();
Command approve_command();
Command rollback_command();
Command rekey_command();
Command recover_command();
Command audit_command();
Command gather_command();
Command listen_command();
Command report_command();
Command thin_command();
Command log_command();
Command changes_command();
Command commission_command();
Command model_command();
Command message_command();
Command self_test_command();

}  // namespace vergeset::cli
