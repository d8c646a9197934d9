#include "fleet/antennas.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>

#include "smi/words.h"

namespace vergeset::fleet {

namespace {

/// A measure of an antenna: its unit, and what is possible.
struct AntennaMeasure {
  std::string_view unit;
  std::string_view what;
  double low;
  double high;
  std::optional<double> Antenna::*number;
};

constexpr AntennaMeasure antenna_measures[] = {
    {"dBi", "a gain", -20, 40, &Antenna::gain_dbi},
    {"dB", "a loss", 0, 40, &Antenna::loss_db},
    {"deg", "a bearing", 0, 360, &Antenna::bearing_deg},
};

std::vector<std::string> parts_of(std::string_view text, std::string_view between) {
  std::vector<std::string> parts(1);
  for (const char letter : text) {
    if (between.find(letter) == std::string_view::npos) {
      parts.back() += letter;
    } else {
      parts.emplace_back();
    }
  }
  return parts;
}

/// Nothing where the word is no number throughout.
std::optional<double> number_of(const std::string& word) {
  double number = 0;
  const char* from = word.data() + (!word.empty() && word.front() == '+' ? 1 : 0);
  const auto [end, error] = std::from_chars(from, word.data() + word.size(), number);
  const bool whole = error == std::errc() && end == word.data() + word.size();
  return whole && std::isfinite(number) ? std::optional(number) : std::nullopt;
}

const AntennaMeasure* measure_named(const std::string& word) {
  for (const AntennaMeasure& measure : antenna_measures) {
    if (smi::lower(measure.unit) == smi::lower(word)) return &measure;
  }
  return nullptr;
}

/// "6dBi" as "6" and "dBi"; another word as it is.
void split_measure(const std::string& word, std::vector<std::string>& words) {
  const auto letter = word.find_first_not_of("+-.0123456789");
  if (letter != 0 && letter != std::string::npos && number_of(word.substr(0, letter)) &&
      measure_named(word.substr(letter)) != nullptr) {
    words.push_back(word.substr(0, letter));
    words.push_back(word.substr(letter));
  } else {
    words.push_back(word);
  }
}

std::vector<std::string> words_of(const std::string& part) {
  std::vector<std::string> words;
  for (const std::string& word : parts_of(part, " \t,")) {
    if (!word.empty()) split_measure(word, words);
  }
  return words;
}

std::string set_measure(const AntennaMeasure& measure, double number, Antenna& antenna) {
  if (number < measure.low || number > measure.high) {
    return fmt::format("expected {} to {} {} for {}, found {}", measure.low, measure.high, measure.unit,
                       measure.what, number);
  }
  std::optional<double>& place = antenna.*measure.number;
  if (place) return fmt::format("{} stands twice for {}", measure.what, antenna.kind);
  place = number;
  return {};
}

bool is_count(double number) {
  return number >= 1 && number <= 16 && number == std::floor(number);
}

Result<Antenna> parse_antenna(const std::string& part) {
  Antenna antenna;
  const std::vector<std::string> words = words_of(part);
  for (std::size_t i = 0; i < words.size(); ++i) {
    const auto number = number_of(words[i]);
    const AntennaMeasure* measure = number && i + 1 < words.size() ? measure_named(words[i + 1]) : nullptr;
    if (measure != nullptr) {
      std::string problem = set_measure(*measure, *number, antenna);
      if (!problem.empty()) return Problem{std::move(problem)};
      ++i;
    } else if (number && i == 0 && is_count(*number)) {
      antenna.count = static_cast<int>(*number);
    } else {
      antenna.kind += (antenna.kind.empty() ? "" : " ") + words[i];
    }
  }
  if (antenna.kind.empty()) {
    return Problem{"expected antennas as in 2 C-V2X 6 dBi, 1.5 dB + GNSS, found " + part};
  }
  return antenna;
}

}  // namespace

bool Antenna::of_satellites() const {
  const std::string words = smi::lower(kind);
  return words.find("gnss") != std::string::npos || words.find("gps") != std::string::npos;
}

Result<std::vector<Antenna>> parse_antennas(std::string_view text) {
  std::vector<Antenna> antennas;
  for (const std::string& part : parts_of(text, "+")) {
    auto antenna = parse_antenna(part);
    if (!antenna) return Problem{antenna.problem()};
    antennas.push_back(*std::move(antenna));
  }
  return antennas;
}

}  // namespace vergeset::fleet
