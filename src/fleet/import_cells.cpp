#include "fleet/import_cells.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "fleet/address.h"
#include "fleet/names.h"
#include "smi/words.h"

namespace vergeset::fleet {

namespace {

template <class Words>
bool is_one_of(const std::string& word, const Words& words) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

bool all_digits(std::string_view text) {
  return !text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos;
}

/// "https://10.1.2.3/login?x" is 10.1.2.3 behind https://, with /login?x behind it.
std::string_view without_scheme(std::string_view text) {
  for (const std::string_view scheme : {"http://", "https://", "snmp://", "ssh://"}) {
    if (smi::lower(text.substr(0, scheme.size())) == scheme) return text.substr(scheme.size());
  }
  return text;
}

Result<HostPort> checked(HostPort found) {
  const auto host = host_of(found.host);
  if (!host) return Problem{"expected an IPv4 or IPv6 address or a host name"};
  found.host = *host;
  if (found.port.empty()) return found;
  const auto port = all_digits(found.port) ? smi::whole_number(found.port) : std::nullopt;
  if (!port || *port < 1 || *port > 65535) return Problem{"expected a port 1 to 65535 behind the colon"};
  found.port = std::to_string(*port);
  return found;
}

}  // namespace

bool says_nothing(std::string_view cell) {
  constexpr std::array<std::string_view, 14> words{"n/a", "na",   "#n/a",   "n.a.",    "-",
                                                   "--",  "---",  "?",      "unknown", "tbd",
                                                   "tba", "none", "\u2013", "\u2014"};
  return is_one_of(smi::lower(smi::trimmed(cell)), words);
}

std::string spoilt(std::string_view cell) {
  constexpr std::array<std::string_view, 7> errors{"#REF!", "#VALUE!", "#NAME?", "#DIV/0!",
                                                   "#NUM!", "#NULL!",  "#####"};
  for (const std::string_view error : errors) {
    if (cell.starts_with(error)) return "the spreadsheet program shows an error here, not a value";
  }
  const std::size_t e = cell.find_first_of("eE");
  const bool shortened = e != std::string_view::npos && e > 1 &&
                         cell.substr(0, e).find_first_not_of("0123456789.,") == std::string_view::npos &&
                         cell.substr(0, e).find_first_of(".,") != std::string_view::npos &&
                         cell.substr(e + 1, 1) == "+" && all_digits(cell.substr(e + 2));
  return shortened ? "the spreadsheet program has shortened this number; format the column as text" : "";
}

Result<std::string> hardware_address_of(std::string_view cell) {
  const Problem wrong{"expected 12 hex digits as in 00:1a:2b:3c:4d:5e"};
  const std::string small = smi::lower(smi::trimmed(cell));
  std::string digits;
  std::string group;
  // A group between colons or dashes may have lost its leading nought.
  const auto end_group = [&](std::size_t wanted) {
    if (group.size() == 1 && wanted == 2) group.insert(0, "0");
    digits += group;
    group.clear();
  };
  for (const char c : small) {
    if ((c >= '0' && c <= '9') || (c >= 'a' && c <= 'f')) {
      group += c;
    } else if (c == ':' || c == '-') {
      end_group(2);
    } else if (c == '.' || c == ' ') {
      end_group(0);
    } else {
      return wrong;
    }
    if (digits.size() > 12) return wrong;
  }
  end_group(small.find_first_of(":-") != std::string::npos ? 2 : 0);
  if (digits.size() != 12) return wrong;
  std::string address;
  for (std::size_t at = 0; at < digits.size(); at += 2) {
    address += (address.empty() ? "" : ":") + digits.substr(at, 2);
  }
  return address;
}

Result<std::string> yes_no_of(std::string_view cell) {
  constexpr std::array<std::string_view, 12> yes{"yes", "y",  "true", "t",      "1",      "x",
                                                 "on",  "ok", "done", "\u2713", "\u2714", "installed"};
  constexpr std::array<std::string_view, 10> no{
      "no", "n", "false", "f", "0", "off", "not installed", "missing", "\u2717", "\u2718"};
  const std::string small = smi::lower(smi::trimmed(cell));
  if (is_one_of(small, yes)) return std::string("yes");
  if (is_one_of(small, no)) return std::string("no");
  return Problem{"expected yes or no"};
}

Result<HostPort> host_port_of(std::string_view cell) {
  const std::string_view all = smi::trimmed(cell);
  std::string_view text = without_scheme(all);
  HostPort found;
  found.without = all.substr(0, all.size() - text.size());
  if (const std::size_t slash = text.find('/'); slash != std::string_view::npos) {
    found.without += text.substr(slash);
    text = text.substr(0, slash);
  }
  if (text.starts_with('[')) {
    const std::size_t close = text.find(']');
    if (close == std::string_view::npos) return Problem{"expected ] behind an IPv6 address in brackets"};
    found.host = text.substr(1, close - 1);
    const std::string_view behind = text.substr(close + 1);
    if (!behind.empty() && (behind.front() != ':' || behind.size() == 1)) {
      return Problem{"expected a colon and a port behind the address"};
    }
    if (!behind.empty()) found.port = behind.substr(1);
    return checked(std::move(found));
  }
  const std::size_t colon = text.find(':');
  const bool with_port =
      colon != std::string_view::npos && text.find(':', colon + 1) == std::string_view::npos;
  found.host = text.substr(0, with_port ? colon : text.size());
  if (!with_port) return checked(std::move(found));
  found.port = text.substr(colon + 1);
  if (found.port.empty()) return Problem{"expected a port behind the colon"};
  return checked(std::move(found));
}

Result<std::string> unit_name_of(std::string_view cell) {
  std::string name;
  for (const char c : smi::trimmed(cell)) {
    const bool fits = static_cast<unsigned char>(c) >= 0x80 || plain_name(std::string("a") + c);
    if (fits) {
      name += c;
    } else if (!name.empty() && name.back() != '-') {
      name += '-';
    }
  }
  while (!name.empty() && name.back() == '-') name.pop_back();
  while (!name.empty() && (name.front() == '-' || name.front() == '.')) name.erase(0, 1);
  if (plain_name(name)) return name;
  return Problem{"expected a name of up to 64 letters a to z, digits, - _ and ."};
}

}  // namespace vergeset::fleet
