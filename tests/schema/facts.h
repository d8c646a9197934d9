#pragma once

#include <fstream>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include "schema/model.h"

namespace vergeset::schema {

/// A line of tests/facts/*.csv: object,oid,kind,syntax,access,unit,note.
struct Fact {
  std::string object, oid, kind, syntax, access, unit, note;
};

inline std::vector<std::string> csv_cells(const std::string& line) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (const char c : line) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      cells.emplace_back();
    } else if (c != '\r') {
      cells.back() += c;
    }
  }
  return cells;
}

/// The object list of a standard.
inline std::vector<Fact> facts_of(const std::string& model) {
  std::ifstream file(std::string(SOURCE_DIR "/tests/facts/") + model + "-objects.csv");
  std::vector<Fact> facts;
  std::string line;
  std::getline(file, line);
  while (std::getline(file, line)) {
    const auto cells = csv_cells(line);
    if (cells.size() != 7) throw std::runtime_error("seven cells a line: " + line);
    facts.push_back({cells[0], cells[1], cells[2], cells[3], cells[4], cells[5], cells[6]});
  }
  return facts;
}

/// The schemas that ship, which must be without fault.
inline const Schema& shipped() {
  static Faults faults;
  static const Schema schema = load_schema(SOURCE_DIR "/schemas", "", faults);
  std::string text;
  for (const Fault& fault : faults.sorted()) text += fault.str() + "\n";
  if (faults.any()) throw std::runtime_error(text);
  return schema;
}

}  // namespace vergeset::schema
