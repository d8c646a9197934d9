#include <fcntl.h>
#include <malloc.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cstring>
#include <exception>

#include "cli/exit_status.h"
#include "cli/interrupt.h"
#include "cli/parse.h"
#include "cli/print.h"
#include "cli/secrecy.h"
#include "records/disk.h"

using namespace vergeset::cli;

namespace {

/// Where a standard descriptor is closed, the next file that is opened would take its place and our output.
void fill_descriptors() {
  int descriptor = 0;
  do {
    descriptor = ::open("/dev/null", O_RDWR | O_CLOEXEC);
  } while (descriptor >= 0 && descriptor <= STDERR_FILENO);
  if (descriptor >= 0) ::close(descriptor);
}

int run(int count, char** words) {
  try {
    const std::vector<Command> commands{
        new_command(),     import_command(),     draft_command(),   model_command(),    check_command(),
        units_command(),   where_command(),      message_command(), reach_command(),    survey_command(),
        diff_command(),    apply_command(),      approve_command(), rollback_command(), rekey_command(),
        recover_command(), commission_command(), audit_command(),   gather_command(),   report_command(),
        thin_command(),    listen_command(),     log_command(),     changes_command(),  self_test_command()};
    const Parsed parsed = parse(commands, count, words);
    return parsed.command != nullptr ? parsed.command->run() : parsed.status;
  } catch (const vergeset::records::DiskError& error) {
    complain(std::string(error.what()) + "; nothing is sent without its records");
  } catch (const StoppedAtOnce& stopped) {
    complain(stopped.what());
    return Exit::interrupted;
  } catch (const std::exception& error) {
    complain(std::string("internal error: ") + error.what());
  }
  return Exit::internal;
}

/// Output that was lost is told, and never hides what the status tells of units.
int after_output(int status) {
  if (output_failure() == 0) return status;
  complain(std::string("cannot write the output: ") + std::strerror(output_failure()));
  return std::max<int>(status, Exit::internal);
}

/// An audit takes and gives back memory all the time; what the system would have to clear each time anew
/// is kept.
void keep_freed_memory() {
  constexpr int enough = 64 << 20;
  mallopt(M_TRIM_THRESHOLD, enough);
  mallopt(M_MMAP_THRESHOLD, enough);
  mallopt(M_TOP_PAD, 1 << 20);
}

}  // namespace

int main(int count, char** words) {
  keep_memory_private();  // secrets may stand in the environment, and so in memory, from here on
  // What is made without a word on its mode is for its owner alone, and a caller's umask takes nothing from
  // him.
  ::umask(077);
  keep_freed_memory();
  fill_descriptors();
  return after_output(run(count, words));
}
