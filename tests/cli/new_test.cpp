#include "catch.h"
#include "program.h"

using namespace vergeset::tests;

namespace {

namespace fs = std::filesystem;

std::string text_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

/// A folder's files, relative to it.
std::vector<std::string> files_in(const fs::path& folder) {
  std::vector<std::string> names;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    if (entry.is_regular_file()) names.push_back(fs::relative(entry.path(), folder).string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

const fs::path first = SOURCE_DIR "/inventories/first";

/// A folder that goes with the test.
struct Place {
  fs::path folder;
  explicit Place(const std::string& name) : folder(fs::path(BINARY_DIR) / ("cli-" + name)) {
    fs::remove_all(folder);
    fs::create_directories(folder);
  }
  ~Place() { fs::remove_all(folder); }
  Place(const Place&) = delete;
  Place& operator=(const Place&) = delete;
};

}  // namespace

TEST_CASE("a new fleet is inventories/first, file for file, and has no fault as it stands") {
  const Place place("new-plain");
  const std::string made = (place.folder / "larkmoor").string();
  const Ran ran = run({"new", made + "/"});
  INFO(ran.out << ran.err);
  REQUIRE(ran.status == 0);
  CHECK(files_in(made) ==
        std::vector<std::string>{".gitignore", "fleet.yaml", "groups/all.yaml", "units.yaml"});
  for (const std::string& name : files_in(made)) {
    INFO(name);
    CHECK(text_of(fs::path(made) / name) == text_of(first / name));
  }
  const Ran checked = run({"check", "--fleet", made});
  INFO(checked.err);
  CHECK(checked.status == 0);
  CHECK_THAT(checked.out, Catch::Contains("1 unit") && Catch::Contains("no fault"));
  CHECK(files_in(place.folder).size() == 4);  // nothing is left beside it
}

TEST_CASE("inventories/first holds what a new fleet does and nothing else") {
  CHECK(files_in(first) ==
        std::vector<std::string>{".gitignore", "fleet.yaml", "groups/all.yaml", "units.yaml"});
}

TEST_CASE("the commented site record of a new fleet is one, once its comments are taken away") {
  const Place place("new-site");
  const std::string made = (place.folder / "f").string();
  REQUIRE(run({"new", made}).status == 0);
  std::string text = text_of(made + "/units.yaml");
  const std::string comment = "\n      # ";
  std::size_t taken = 0;
  for (std::size_t at = text.find(comment); at != std::string::npos; at = text.find(comment, at + 1)) {
    text.erase(at + 7, 2);
    ++taken;
  }
  CHECK(taken == 13);
  std::ofstream(made + "/units.yaml") << text;
  const Ran checked = run({"check", "--fleet", made});
  INFO(text << checked.err);
  CHECK(checked.status == 0);
}

TEST_CASE("an empty folder is filled, and one that holds anything is left alone") {
  const Place place("new-there");
  const fs::path empty = place.folder / "empty";
  fs::create_directories(empty);
  CHECK(run({"new", empty.string()}).status == 0);
  CHECK(fs::exists(empty / "fleet.yaml"));

  const Ran again = run({"new", empty.string()});
  CHECK(again.status == 2);
  CHECK_THAT(again.err, Catch::Contains("is not empty"));

  const fs::path taken = place.folder / "taken";
  fs::create_directories(taken / ".git");
  CHECK(run({"new", taken.string()}).status == 2);
  CHECK(files_in(taken).empty());

  const fs::path file = place.folder / "file";
  std::ofstream(file) << "x";
  CHECK_THAT(run({"new", file.string()}).err, Catch::Contains("is no folder"));
  CHECK(text_of(file) == "x");
}

TEST_CASE("where a fleet cannot be made nothing of it is left") {
  const Place place("new-nowhere");
  const Ran ran = run({"new", "/dev/null/fleet"});
  CHECK(ran.status == 2);
  CHECK_FALSE(ran.err.empty());
  fs::create_symlink(place.folder / "gone", place.folder / "link");
  CHECK(run({"new", (place.folder / "link").string()}).status == 2);
  CHECK(files_in(place.folder).empty());
  CHECK(run({"new"}).status == 2);
  CHECK(run({"new", ""}).status == 2);
}
