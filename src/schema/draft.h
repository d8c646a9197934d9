#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <string_view>

#include "schema/model.h"
#include "schema/yaml.h"

namespace vergeset::schema {

/// Where the parts of an object were written, for checks that wait until all files are read.
struct ObjectDraft {
  Entry key;
  Entry syntax;
  Entry initial;
  std::string table;      ///< empty for a scalar
  std::size_t order = 0;  ///< of definition
};

struct TableDraft {
  Entry key;
  Entry index;
  Entry status;
  Entry most;
  std::size_t order = 0;
};

/// A model while it is read from its files, weakest first: system.yaml, the model it is based on,
/// its own. A later file may add objects and change those of an earlier in part, so names are
/// resolved and values checked when the last is read.
struct Draft {
  Model* model = nullptr;
  smi::Oid root;  ///< of the file that is being read
  std::map<std::string, ObjectDraft, std::less<>> objects;
  std::map<std::string, TableDraft, std::less<>> tables;
  Entry recognise;
  Entry mode;
  std::map<std::string, Entry> identity;
  std::size_t defined = 0;
};

/// Reads the scalars, tables and rules of one file into the draft.
void read_file(const Entry& file, Draft& draft);

/// Reads `notifications:` of a file: their names, and those of variables that only they bring.
void read_notifications(const Entry& map, Draft& draft);

/// Resolves the names between objects and tables, checks OIDs and defaults, and fills the rest of the model.
void finish_tables(Draft& draft);
void finish_rules(Draft& draft, const Entry& file);

/// The object that an entry names, or nothing and a fault with a suggestion.
const Object* named_object(const Entry& entry, const Model& model, std::string_view expected);

}  // namespace vergeset::schema
