#include <exception>

#include "cli/exit_status.h"
#include "cli/parse.h"
#include "cli/print.h"
#include "records/disk.h"

int main(int count, char** words) {
  using namespace vergeset::cli;
  try {
    const std::vector<Command> commands{
        check_command(), units_command(), where_command(),    survey_command(), diff_command(),
        apply_command(), audit_command(), rollback_command(), log_command(),    changes_command()};
    const Parsed parsed = parse(commands, count, words);
    return parsed.command != nullptr ? parsed.command->run() : parsed.status;
  } catch (const vergeset::records::DiskError& error) {
    complain(std::string(error.what()) + "; nothing is sent without its records");
  } catch (const std::exception& error) {
    complain(std::string("internal error: ") + error.what());
  }
  return Exit::internal;
}
