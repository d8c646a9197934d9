#include <fmt/format.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "key_run.h"
#include "mistakes.h"
#include "run.h"

namespace {

using namespace vergeset;
using faults::Broken;

/// Changes of settings, or of keys.
std::optional<Broken> (*run_one)(std::uint64_t seed, bool tell) = faults::run;

struct Seeds {
  std::uint64_t first = 1;
  std::uint64_t last = 1;
};

std::optional<Seeds> seeds_of(const std::string& text) {
  Seeds seeds;
  const std::size_t dots = text.find("..");
  char* end = nullptr;
  seeds.first = std::strtoull(text.c_str(), &end, 10);
  const bool one = dots == std::string::npos;
  if (end != text.c_str() + (one ? text.size() : dots) || text.empty()) return std::nullopt;
  seeds.last = one ? seeds.first : std::strtoull(text.c_str() + dots + 2, &end, 10);
  if (*end != '\0' || (!one && dots + 2 == text.size()) || seeds.last < seeds.first) return std::nullopt;
  return seeds;
}

using Failures = std::map<std::uint64_t, Broken>;

/// The seed that each process is at, in memory that all of them see: who crashes cannot say it any more.
class AtSeed {
 public:
  explicit AtSeed(std::size_t jobs) : size_(jobs * sizeof(std::uint64_t)) {
    void* const memory = ::mmap(nullptr, size_, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (memory != MAP_FAILED) seeds_ = static_cast<std::uint64_t*>(memory);
  }
  ~AtSeed() {
    if (seeds_ != nullptr) ::munmap(seeds_, size_);
  }
  AtSeed(const AtSeed&) = delete;
  AtSeed& operator=(const AtSeed&) = delete;
  void note(std::size_t part, std::uint64_t seed) {
    if (seeds_ != nullptr) seeds_[part] = seed;
  }
  std::uint64_t of(std::size_t part) const { return seeds_ != nullptr ? seeds_[part] : 0; }

 private:
  std::size_t size_;
  std::uint64_t* seeds_ = nullptr;
};

/// One of `jobs` processes runs each of its seeds and writes a line for each that fails.
void run_part(const Seeds& seeds, std::size_t part, std::size_t jobs, AtSeed& at, std::FILE* out) {
  for (std::uint64_t seed = seeds.first + part; seed <= seeds.last; seed += jobs) {
    at.note(part, seed);
    const auto broken = run_one(seed, false);
    if (broken) fmt::print(out, "{} {} {}\n", seed, broken->promise, broken->text);
  }
}

/// The seeds that failed; nothing where a process ended otherwise than by itself.
std::optional<Failures> run_all(const Seeds& seeds, std::size_t jobs) {
  AtSeed at(jobs);
  std::vector<std::pair<pid_t, std::FILE*>> parts;
  for (std::size_t part = 0; part < jobs; ++part) {
    std::FILE* const out = std::tmpfile();
    if (out == nullptr) return std::nullopt;
    std::fflush(stdout);
    const pid_t child = ::fork();
    if (child < 0) return std::nullopt;
    if (child == 0) {
      run_part(seeds, part, jobs, at, out);
      std::fflush(out);
      ::_exit(0);
    }
    parts.emplace_back(child, out);
  }
  Failures failures;
  bool whole = true;
  for (std::size_t part = 0; part < parts.size(); ++part) {
    const auto& [child, out] = parts[part];
    int status = 0;
    ::waitpid(child, &status, 0);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) {
      fmt::print(stderr, "faults: the search itself crashed at seed {}\n", at.of(part));
      whole = false;
    }
    std::rewind(out);
    std::string text;
    for (int c = std::fgetc(out); c != EOF; c = std::fgetc(out)) text += static_cast<char>(c);
    std::fclose(out);
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
      std::istringstream words(line);
      std::uint64_t seed = 0;
      Broken broken;
      words >> seed >> broken.promise;
      std::getline(words >> std::ws, broken.text);
      failures[seed] = broken;
    }
  }
  if (!whole) return std::nullopt;
  return failures;
}

int search(const Seeds& seeds, std::size_t jobs, std::size_t traces) {
  const auto failures = run_all(seeds, jobs);
  if (!failures) return 1;
  std::size_t told = 0;
  for (const auto& [seed, broken] : *failures) {
    fmt::print("seed {}: promise {} is broken: {}\n", seed, broken.promise, broken.text);
    if (told++ >= traces) continue;
    run_one(seed, true);
    fmt::print("\n");
  }
  const std::uint64_t count = seeds.last - seeds.first + 1;
  fmt::print("{} passed, {} failed\n", count - failures->size(), failures->size());
  return failures->empty() ? 0 : 1;
}

/// The first seed that finds the mistake: its run fails with it, and not without.
std::optional<std::pair<std::uint64_t, Broken>> find(const Seeds& seeds, records::Mistake mistake) {
  for (std::uint64_t seed = seeds.first; seed <= seeds.last; ++seed) {
    records::mistake = mistake;
    auto broken = run_one(seed, false);
    records::mistake = records::Mistake::none;
    if (broken && !run_one(seed, false)) return std::pair(seed, *std::move(broken));
  }
  return std::nullopt;
}

int find_mistakes(const Seeds& seeds, const std::optional<records::Mistake>& only) {
  int found_ones = 0;
  int missed = 0;
  fmt::print("{:<24} {:>6}  {}\n", "mistake", "seed", "promise");
  const bool of_keys = run_one == faults::run_keys;
  for (const auto& [name, mistake] : of_keys ? faults::mistakes_of_keys() : faults::mistakes()) {
    if (only && *only != mistake) continue;
    const auto found = find(seeds, mistake);
    (found ? found_ones : missed) += 1;
    if (found) {
      fmt::print("{:<24} {:>6}  {}: {}\n", name, found->first, found->second.promise,
                 found->second.text.substr(0, 120));
    } else {
      fmt::print("{:<24} {:>6}\n", name, "none");
    }
    std::fflush(stdout);
  }
  fmt::print("{} found, {} missed\n", found_ones, missed);
  return missed == 0 ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app("Searches for failures: changes in virtual time, all from a seed, with faults drawn.");
  std::string seeds_text = "1..1000";
  std::string mistake;
  bool trace = false;
  bool keys = false;
  bool all_mistakes = false;
  std::size_t jobs = 1;
  std::size_t traces = 3;
  app.add_option("--seeds", seeds_text, "A..B, or one");
  app.add_option("--mistake", mistake, "make this mistake of records/mistake.h");
  app.add_flag("--mistakes", all_mistakes, "show that each mistake is found, or that of --mistake");
  app.add_flag("--keys", keys, "changes of keys instead of settings");
  app.add_flag("--trace", trace, "tell all that happens in each run");
  app.add_option("--jobs", jobs, "processes");
  app.add_option("--traces", traces, "so many of the runs that fail are told whole");
  CLI11_PARSE(app, argc, argv);

  if (keys) run_one = faults::run_keys;
  const auto seeds = seeds_of(seeds_text);
  if (!seeds) {
    fmt::print(stderr, "faults: expected seeds as 1..1000, found {}\n", seeds_text);
    return 2;
  }
  std::optional<records::Mistake> named;
  if (!mistake.empty()) {
    named = faults::mistake_named(mistake);
    if (!named) {
      fmt::print(stderr, "faults: no mistake is called {}; src/records/mistake.h has them all\n", mistake);
      return 2;
    }
  }
  if (all_mistakes) return find_mistakes(*seeds, named);
  if (named) records::mistake = *named;
  if (trace) {
    int failed = 0;
    for (std::uint64_t seed = seeds->first; seed <= seeds->last; ++seed) {
      const auto broken = run_one(seed, true);
      if (broken) fmt::print("seed {}: promise {} is broken: {}\n", seed, broken->promise, broken->text);
      failed += broken ? 1 : 0;
    }
    fmt::print("{} passed, {} failed\n", seeds->last - seeds->first + 1 - static_cast<std::uint64_t>(failed),
               failed);
    return failed == 0 ? 0 : 1;
  }
  return search(*seeds, std::max<std::size_t>(jobs, 1), traces);
}
