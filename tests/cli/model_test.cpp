#include <fmt/format.h>

#include <cstdio>
#include <filesystem>
#include <sstream>

#include "catch.h"
#include "facts_mib.h"
#include "fleet/fleet.h"
#include "program.h"
#include "schema/model.h"
#include "schema/scratch.h"
#include "smi/form.h"

using namespace vergeset;
using namespace vergeset::tests;
using schema::Model;
using schema::Object;
using schema::Schema;
using schema::Scratch;
using schema::Table;

namespace {

/// A model file of MIB files in a folder of model files, and what the loader makes of it.
struct MadeModel {
  Scratch scratch;
  Ran ran;
  std::string text;
  Schema schema;
  std::string faults;
  const Model* model = nullptr;

  explicit MadeModel(const std::vector<std::string>& files, const std::vector<std::string>& more = {}) {
    std::filesystem::create_directories(scratch.path("models"));
    std::vector<std::string> words{"model", "from-mib"};
    words.insert(words.end(), files.begin(), files.end());
    words.insert(words.end(), more.begin(), more.end());
    words.insert(words.end(), {"--name", "made", "--out", scratch.path("models/made.yaml")});
    ran = run(words);
    if (ran.status != 0) return;
    std::ifstream file(scratch.path("models/made.yaml"));
    text.assign(std::istreambuf_iterator<char>(file), {});
    Faults found;
    schema = schema::load_schema(SOURCE_DIR "/schemas", scratch.path("models"), found);
    for (const Fault& fault : found.sorted()) faults += fault.str() + "\n";
    model = schema.model("made");
  }
};

std::string written(const Scratch& scratch, const std::string& name, const std::string& text) {
  return scratch.write(name, text);
}

const smi::Oid old_root{1, 0, 15628, 4, 1};

/// All of an object that a MIB can tell, in words.
std::string told(const Object& object, bool smi_v1) {
  std::string access = std::to_string(static_cast<int>(object.access));
  if (smi_v1 && object.access == schema::Access::read_create)
    access = std::to_string(static_cast<int>(schema::Access::read_write));
  return fmt::format("{} {} {} access {} unit {} default {} table {}", object.name, object.oid.str(),
                     object.syntax.str(), access, smi_v1 ? "" : object.unit,
                     object.initial ? smi::to_text(object.syntax, *object.initial) : "none",
                     object.table != nullptr ? object.table->name : "none");
}

std::string told(const Table& table) {
  std::string text =
      fmt::format("{} {} {} index {} {}..{} status {} edit {}", table.name, table.oid.str(),
                  table.entry.str(), table.index, table.index_range.low, table.index_range.high,
                  table.status != nullptr ? table.status->name : "none", static_cast<int>(table.edit));
  for (const Object* column : table.columns) text += " " + column->name;
  return text;
}

void check_like_ours(Smi smi) {
  const Scratch scratch;
  FactsMib mib(schema::facts_of("rsu-4.1"), old_root, smi);
  const MadeModel made({written(scratch, "LARKMOOR-FACTS-MIB.txt", mib.text())});
  INFO(made.ran.err << made.faults);
  REQUIRE(made.ran.status == 0);
  REQUIRE(made.faults.empty());
  const Model& ours = *schema::shipped().model("rsu-4.1");
  CHECK(made.model->root == ours.root);
  CHECK(made.model->objects.size() == ours.objects.size());
  CHECK(made.model->tables.size() == ours.tables.size());
  const bool old = smi == Smi::v1;
  std::size_t compared = 0;
  for (const auto& [name, object] : ours.objects) {
    INFO(name);
    REQUIRE(made.model->object(name) != nullptr);
    CHECK(told(*made.model->object(name), old) == told(object, old));
    if (object.oid.within(ours.root)) ++compared;
  }
  for (const auto& [name, table] : ours.tables) {
    INFO(name);
    REQUIRE(made.model->table(name) != nullptr);
    CHECK(told(*made.model->table(name)) == told(table));
    ++compared;
  }
  CHECK(compared == 119);  // as many lines as tests/facts/rsu-4.1-objects.csv has
  REQUIRE(made.model->mode.has_value());
  CHECK(made.model->mode->asked->name == "rsuMode");
  CHECK(made.model->mode->operate == ours.mode->operate);
}

}  // namespace

TEST_CASE("a model made of an SMIv2 MIB of RSU 4.1's objects has every object as the shipped one has it") {
  check_like_ours(Smi::v2);
}

TEST_CASE("a model made of an SMIv1 MIB of them has them too, but for what SMIv1 cannot say") {
  // RFC 1212: no UNITS and no read-create
  check_like_ours(Smi::v1);
}
