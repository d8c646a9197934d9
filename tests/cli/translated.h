#pragma once

#include <cstdio>
#include <map>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include "smi/oid.h"
#include "smi/syntax.h"

namespace vergeset::tests {

/// An object type as `snmptranslate -Td` prints it.
struct Translated {
  std::string name;
  std::string type;  ///< "INTEGER", "OCTET STRING"; empty for a table and a row
  std::string convention;
  std::string access;
  std::string units;
  std::string index;
  std::string augments;
  std::vector<smi::Range> ranges;
  std::vector<smi::Label> labels;
};

inline std::string output_of(const std::string& command) {
  FILE* pipe = popen(("SNMPCONFPATH=/nonexistent " + command + " 2>/dev/null").c_str(), "r");
  if (pipe == nullptr) throw std::runtime_error("cannot run " + command);
  std::string text;
  char part[4096];
  for (std::size_t count = 0; (count = fread(part, 1, sizeof part, pipe)) > 0;) text.append(part, count);
  if (pclose(pipe) != 0) throw std::runtime_error("failed: " + command);
  return text;
}

/// "off(0), on(1)"
inline std::vector<smi::Label> labels_in(const std::string& text) {
  std::vector<smi::Label> labels;
  std::istringstream parts(text);
  for (std::string part; std::getline(parts, part, ',');) {
    const std::size_t open = part.find('(');
    const std::size_t begin = part.find_first_not_of(' ');
    labels.push_back({part.substr(begin, open - begin), std::stoll(part.substr(open + 1))});
  }
  return labels;
}

/// "0..15", "8 | 11"
inline std::vector<smi::Range> ranges_in(const std::string& text) {
  std::vector<smi::Range> ranges;
  std::istringstream parts(text);
  for (std::string part; std::getline(parts, part, '|');) {
    const std::size_t dots = part.find("..");
    const std::int64_t low = std::stoll(part);
    ranges.push_back({low, dots == part.npos ? low : std::stoll(part.substr(dots + 2))});
  }
  return ranges;
}

inline void take_syntax(const std::string& text, Translated& object) {
  const std::size_t open = text.find_first_of("({");
  object.type = text.substr(0, open);
  object.type.resize(object.type.find_last_not_of(' ') + 1);
  if (open == text.npos) return;
  const std::string inner = text.substr(open + 1, text.find_last_of(")}") - open - 1);
  if (text[open] == '{') {
    object.labels = labels_in(inner);
  } else if (inner.find_first_not_of("0123456789-") != 0) {  // "Opaque (UCD-SNMP-MIB)" names its module
    object.ranges = ranges_in(inner);
  }
}

/// The lines of one object that begin with its name and "OBJECT-TYPE". Descriptions are in quotes and stand
/// last.
inline Translated translated_of(const std::string& text) {
  Translated object;
  std::istringstream lines(text);
  const auto behind = [](const std::string& line, const std::string& word) {
    const std::size_t at = line.find_first_not_of(" \t", word.size());
    std::string rest = at == line.npos ? "" : line.substr(at);
    rest.resize(rest.find_last_not_of(' ') + 1);
    return rest;
  };
  for (std::string line; std::getline(lines, line);) {
    if (line.rfind("  DESCRIPTION", 0) == 0) break;
    if (object.name.empty()) object.name = line.substr(0, line.find(' '));
    if (line.rfind("  SYNTAX", 0) == 0) take_syntax(behind(line, "  SYNTAX"), object);
    if (line.rfind("  -- TEXTUAL CONVENTION", 0) == 0)
      object.convention = behind(line, "  -- TEXTUAL CONVENTION");
    if (line.rfind("  MAX-ACCESS", 0) == 0) object.access = behind(line, "  MAX-ACCESS");
    if (line.rfind("  INDEX", 0) == 0) object.index = behind(line, "  INDEX");
    if (line.rfind("  AUGMENTS", 0) == 0) object.augments = behind(line, "  AUGMENTS");
    if (line.rfind("  UNITS", 0) == 0) {
      const std::string quoted = behind(line, "  UNITS");
      object.units = quoted.substr(1, quoted.size() - 2);
    }
  }
  return object;
}

/// Every object type of a module, by its identifier, as snmptranslate has it: identifiers by `-Tz`, the rest
/// by `-Td`. `folders` are its MIBDIRS.
inline std::map<smi::Oid, Translated> translated(const std::string& folders, const std::string& module) {
  const std::string command = "snmptranslate -w 30000 -M '" + folders + "' -m " + module;
  std::istringstream names(output_of(command + " -Tz"));
  std::map<smi::Oid, Translated> objects;
  std::vector<smi::Oid> oids;
  std::string arguments;
  const auto ask = [&] {
    if (oids.empty()) return;
    const std::string text = output_of(command + " -Td" + arguments);
    std::size_t at = 0;
    for (const smi::Oid& oid : oids) {
      const std::size_t first = text.find("::", at);
      const std::size_t line = text.find('\n', first) + 1;
      const std::size_t end = text.find("\n::= {", line);
      if (first == text.npos || end == text.npos)
        throw std::runtime_error("unexpected: " + text.substr(at, 200));
      const std::string one = text.substr(line, end - line + 1);
      // A node of no object is printed as an object type too, but without access.
      const bool of_it = one.find("-- FROM\t" + module + "\n") != one.npos;
      if (of_it && one.find("\n  MAX-ACCESS\t") != one.npos) objects[oid] = translated_of(one);
      at = text.find('\n', end + 1) + 1;
    }
    oids.clear();
    arguments.clear();
  };
  for (std::string line; std::getline(names, line);) {
    const std::size_t open = line.rfind('"', line.size() - 2);
    const std::string number = line.substr(open + 1, line.size() - open - 2);
    const auto oid = smi::Oid::parse(number);
    if (!oid || oid->size() < 2) continue;
    oids.push_back(*oid);
    arguments += " ." + number;
    if (oids.size() == 200) ask();
  }
  ask();
  return objects;
}

}  // namespace vergeset::tests
