#include "fleet/secret_source.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <map>

#include "fleet/command_output.h"

namespace vergeset::fleet {

namespace {

/// net-snmp makes no key of fewer characters (its USM_LENGTH_P_MIN).
constexpr std::size_t least_length = 8;
constexpr std::size_t most_length = 4096;
constexpr std::size_t most_of_lines = 16384;

/// A secret's shape: one line, or all that there is.
enum class Shape { line, lines };

/// The environment is the process's, and so is what was taken out of it.
std::map<std::string, Secret>& held_variables() {
  static std::map<std::string, Secret> held;
  return held;
}

Result<Secret> usable(std::string_view secret, const std::string& from, Shape shape) {
  if (secret.empty()) return Problem{from + " holds no secret"};
  if (shape == Shape::lines) return Secret::copy_of(secret);
  if (secret.size() > most_length) return Problem{from + " is too long for a secret"};
  if (secret.find_first_of(std::string_view("\n\r\0", 3)) != std::string::npos) {
    return Problem{from + " holds more than one line; a secret is one"};
  }
  if (secret.size() < least_length) {
    return Problem{fmt::format("the secret of {} is too short: SNMPv3 wants at least {} characters", from,
                               least_length)};
  }
  return Secret::copy_of(secret);
}

std::string_view without_line_end(std::string_view text) {
  if (!text.empty() && text.back() == '\n') text.remove_suffix(1);
  if (!text.empty() && text.back() == '\r') text.remove_suffix(1);
  return text;
}

Result<Secret> from_environment(const std::string& variable, Shape shape) {
  const std::string from = "environment variable " + variable;
  const auto held = held_variables().find(variable);
  if (held != held_variables().end()) return usable(held->second.text(), from, shape);
  const char* const value = std::getenv(variable.c_str());
  if (value == nullptr) return Problem{from + " is not set"};
  return usable(value, from, shape);
}

std::string_view shaped(std::string_view text, Shape shape) {
  return shape == Shape::line ? without_line_end(text) : text;
}

/// Reads an open file, once it is known to be the owner's alone: asked of the descriptor, so that
/// nothing can be put in its place in between.
Result<Secret> from_descriptor(int descriptor, const std::string& from, Shape shape) {
  struct stat status {};
  if (fstat(descriptor, &status) != 0 || !S_ISREG(status.st_mode)) return Problem{from + " is no file"};
  if ((status.st_mode & (S_IRWXG | S_IRWXO)) != 0) {
    return Problem{fmt::format("{} is open to others than its owner (mode {:03o}); give it mode 600", from,
                               status.st_mode & 0777U)};
  }
  std::array<char, most_of_lines + 1> text{};
  const ssize_t count = read(descriptor, text.data(), text.size());
  if (count < 0) return Problem{from + " cannot be read: " + strerror(errno)};
  auto secret = static_cast<std::size_t>(count) > most_of_lines
                    ? Problem{from + " is too long for a secret"}
                    : usable(shaped({text.data(), static_cast<std::size_t>(count)}, shape), from, shape);
  wipe(text.data(), text.size());
  return secret;
}

Result<Secret> from_file(const std::string& path, const std::string& fleet_folder, Shape shape) {
  const std::string from = "secret file " + path;
  const std::string whole = path.rfind('/', 0) == 0 ? path : fleet_folder + "/" + path;
  const int descriptor = open(whole.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (descriptor < 0) return Problem{from + " cannot be opened: " + strerror(errno)};
  auto secret = from_descriptor(descriptor, from, shape);
  close(descriptor);
  return secret;
}

/// The command line is not shown: people have been known to write `echo` and the secret.
Result<Secret> from_command(const SecretSource& source, const std::string& fleet_folder,
                            std::chrono::milliseconds wait, Shape shape) {
  const std::string from = "the secret command of " + source.place.str();
  const auto output = command_output(source.where, fleet_folder, wait, source.withheld);
  if (!output) return Problem{from + " " + output.problem() + "; run it by hand to see why"};
  const std::string_view text = output->text();
  if (shape == Shape::lines) return usable(text, from, shape);
  return usable(without_line_end(text.substr(0, text.find('\n'))), from, shape);
}

Result<Secret> read(const SecretSource& source, const std::string& fleet_folder,
                    std::chrono::milliseconds wait, Shape shape) {
  switch (source.kind) {
    case SecretSource::Kind::environment:
      return from_environment(source.where, shape);
    case SecretSource::Kind::file:
      return from_file(source.where, fleet_folder, shape);
    case SecretSource::Kind::command:
      return from_command(source, fleet_folder, wait, shape);
    case SecretSource::Kind::none:
      break;
  }
  return Problem{"the credential names no source for this secret"};
}

void hold(const SecretSource& source) {
  if (source.kind != SecretSource::Kind::environment) return;
  char* const value = std::getenv(source.where.c_str());
  if (value == nullptr) return;
  held_variables()[source.where] = Secret::copy_of(value);
  wipe(value, std::strlen(value));
  unsetenv(source.where.c_str());
}

}  // namespace

std::string source_text(const SecretSource& source) {
  switch (source.kind) {
    case SecretSource::Kind::environment:
      return "environment variable " + source.where;
    case SecretSource::Kind::file:
      return "secret file " + source.where;
    case SecretSource::Kind::command:
      return "the secret command of " + source.place.str();
    case SecretSource::Kind::none:
      break;
  }
  return "the secret";
}

Result<Secret> read_secret(const SecretSource& source, const std::string& fleet_folder,
                           std::chrono::milliseconds wait) {
  return read(source, fleet_folder, wait, Shape::line);
}

Result<Secret> read_secret_lines(const SecretSource& source, const std::string& fleet_folder,
                                 std::chrono::milliseconds wait) {
  return read(source, fleet_folder, wait, Shape::lines);
}

void hold_secret_variables(const Fleet& fleet) {
  for (const auto& [name, credential] : fleet.credentials) {
    for (const SecretSource* source : {&credential.auth_secret, &credential.privacy_secret,
                                       &credential.community, &credential.certificate.key}) {
      hold(*source);
    }
  }
}

void forget_secret_variables() {
  held_variables().clear();
}

}  // namespace vergeset::fleet
